"""Pages and API as one local web application, with the guard before both.

Front doors: `build.make_app` (the application on one ledger), `running.serve` (its address, certificate and server),
`authority` (this computer's own certificates). Nothing here knows a find.
"""
