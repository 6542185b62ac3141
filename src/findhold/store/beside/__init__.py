"""Tables of a file that keep a few words of each thing beside the states, so that long lists are read at once.

Front doors: `hold_days.hold_days` (what is due on holds), `find_words` (finds by words), `kept.keep_all` and its
companions (make them, prove them).
"""
