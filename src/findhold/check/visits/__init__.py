"""Visits: the checks of many boxes made in few rounds, and what becomes of rounds that were not made.

Front doors: `windows.check_windows` (the days on which each check may be made), `merged.merge_checks` (the fewest
visits that make them all), `missed.escalate` (who is told of a round that was not made, and when).
"""
