"""The room for looking after a hold: when to look, and what the store's logger says.

Front doors: `rounds.check_dates` (days of the checks round closures), `rounds.unattended` (closures in which a
check falls due and nobody comes), `rounds.events` (checks and opening as calendar events), `logger.read_logger`
(a logger's table of time, temperature and humidity, from any CSV).

Rules of the rounds are proposed defaults without authority; they stand in tables/data/check_rounds.csv.
"""
