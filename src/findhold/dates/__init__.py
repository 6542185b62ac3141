"""Dates and times: read as people write them, shown as people read them; never guessed.

Front doors: `forms.read_dates` (a column of typed dates and times), `instants` (one aware instant, zones,
printing), `closures` (closed days, working-day arithmetic), `calendar_file.write_calendar` (RFC 5545).

An instant always carries its offset from UTC. A time without zone is placed in the zone that the caller hands
in; a time that happens twice or never (clock changes) is refused with what to write instead. No clock here.
"""
