"""What pages draw and tell from what is recorded: stores, closures, plans, papers to sign, scans.

Nothing is reckoned anew by looking. Front doors: `stores_seen`, `store_readings`, `closures_seen`, `plan_seen`,
`hand_over` and `scan_seen`, each with functions of the same words. Each look is a few rows by an index.
"""
