"""The room where bags and boxes go into crates, several finds into one box, and boxes onto shelves.

Front doors: `load.load_crates(CrateRequest) -> CrateLoads` (bags and boxes into crates, every rule kept, the bound
stated), `dividers.divide_box(DivideRequest) -> DividedBox` (finds into compartments of one box, or why they may not
share it), `shelves.fill_shelves(ShelfRequest) -> ShelfPlan` (boxes onto the shelves of a fridge or rack).
`rules` says what may stand on what and with what; `board` how much a board box bears.
Sources: tables crate_rules, carton_factors, find_materials, contact_rules.
"""
