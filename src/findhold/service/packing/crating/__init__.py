"""Crates from a file or from the ledger: read the lists, load, tell, and write sheets and a contents list.

Front doors: `asking.crates_of_file` (no ledger), `holding.crates_of_site` (planned boxes and bulk bags of a site),
`answer.crate_answer` (the public shape), `papers.write_crates` (PDF and CSV).
"""
