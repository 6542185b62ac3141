"""The keeping room: how long a find may wait in its box, and what ends the wait.

Front door:
  inputs.HoldInputs, Climate, Policy    one hold as packed, its place and the unit's rules; checked when put together
  forecast.forecast(inputs)             water lost, growth, cooling, limits, keep-until date, mass bands
  options.options(inputs)               what can be done when it cannot be kept, each way forecast anew

Behind it: draws (the ensemble's inputs), response (temperatures and flows of all runs), surface (growth on one
surface), limits, massband, remarks (assumptions, notes, sources). Models: docs/models.
"""
