"""Use cases: load, decide, append, tell. The command line (and later pages and API) call these and nothing below.

One use case is one function with one frozen request and one frozen result: `register` (new, import), `finder` (list,
show), `planning` (plan), `keeping` (keep), `labelling` (label, read), `plotting` (plot), `rounds` (due, calendar),
`papers` (packing sheets), `proving` (prove). `office` is the one place where the real ledger, clock and device are
chosen; `scenario` reads the one-file form of a find; `wire` turns results into plain data.
"""
