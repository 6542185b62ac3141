"""The store: one append-only ledger of events, and read tables folded from it.

Front doors: `ledger.create`, `ledger.open_ledger`, `Ledger.writing()` (one transaction: read, decide, append),
`Ledger.states`, `Ledger.state`, `Ledger.story`, `prove.prove` (is the whole ledger true?), `Ledger.rebuild`.
SQLite today, through SQLAlchemy Core so that the same statements serve a server database.
"""
