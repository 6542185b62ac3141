"""The register: what a site knows about its contexts, finds, samples, people, stores, boxes and closures.

Intake of a file, in this order; nothing here records, and nothing is guessed:
- `readfile.read_sheet` reads CSV or XLSX bytes as one table, with the row numbers a person sees;
- `mapping.propose` says which column means which field; `to_text` and `from_text` keep it as a small file;
- `intake.intake` reads every cell, compares with the ledger and gives new rows, changes, and all mistakes and
  questions at once.

Fields and heading words: tables/data/register_fields.csv; words in cells: choice_words.csv; thresholds:
intake_rules.csv.
"""
