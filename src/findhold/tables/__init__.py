"""Tables of figures with their passports. `load.table(name)` reads one; the typed modules hand out its rows."""
