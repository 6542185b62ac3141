"""The room for looking after a hold: when to look, what the balance says, and what the store's logger says.

Front doors: `rounds.check_dates` (days of the checks round closures), `rounds.unattended` (closures in which a
check falls due and nobody comes), `rounds.events` (checks and opening as calendar events), `logger.read_logger`
(a logger's table of time, temperature and humidity, from any CSV), `excursions.find_excursions` (its warm, failed
and frozen spells), `typed_mass.read_mass` (a mass as typed),
`weighing.judge_mass`, `judge_look` and `judge_loss` (right, watch or act, and what to do), `learning.learn` and
`expecting.expect` (a lid learned from weighings, and the next mass to expect).

Rules of the rounds are proposed defaults without authority; they stand in tables/data/check_rounds.csv.
"""
