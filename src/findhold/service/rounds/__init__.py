"""Rounds: the unit's calendar and people, the next visits, what was missed, the printed sheets, and reminders.

Front doors: `planning.rounds` (the next rounds, with what was missed and what nobody can make),
`sheets.round_sheet_file` and `sheets.door_sheet_file` (printed), `mail.send_digest` (by the unit's own server).
"""
