"""Upright and turned boxes into spaces: nothing overlaps, nothing hangs over, nothing carries more than it may.

Front doors: `fill.fill_space` (many equal boxes into one space, as full as can be), `drop.load_bays` (pieces with
rules into several spaces, restarts with a seed), `exact.load_exactly` (the same for few pieces, proved by a solver).
`parts` holds the shapes and the check of a finished loading, `bounds` what no loading can beat. Whole millimetres and
grams.
"""
