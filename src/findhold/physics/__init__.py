"""Toolbox of physics: pure functions of plain numbers and arrays that have never heard of a find.

moist_air   saturation pressure, vapour pressure, dew point
vapour      passage of vapour through walls, past lids, by breathing
heat        resistance round a block, cooling of one lump in any surroundings
mould       growth index from temperature, humidity and time
band        low/best/high from an ensemble, even draws, driving inputs
cushioning  peak deceleration on foam, springs, vibration, pressure under a block
sorption    water held by paper;  soil  water held by soil

The same arguments always give the same result: no files, no clock, no randomness without a generator handed in.
Numbers from tables are handed in by the rooms; units stand in the names; humidity is a fraction.
"""
