"""Closures: which holds cannot be kept through one, what can be done for each, what a person chose, and the page of it.

Front doors: `planning.closure_plan` (every hold with its ways out, choices recorded), `standing.standings` (how each
hold stands, read only), `sheet.closure_sheet_file` (one page to hand on), `ending.end_hold` (a hold ends).
"""
