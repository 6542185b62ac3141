"""The API under /api/v1: JSON to request, service, JSON; the same names and errors as `--json` of the command line.

Front doors: `routes.router` (all operations), `shape` (the one shape of errors). One module for each group of
operations; a module with a `router` is found by itself.
"""
