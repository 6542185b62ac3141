"""The room where a find is given its box, its bed and its water.

Front door: `plan.plan_box(PlanInputs) -> Plan`. `inputs` holds what is asked for; `block` weighs the block against
its soil and tells its water; `choose` finds the box; `bed` lays the layers; `damp` works out the dose; `contact`
sets packing against planned analyses and against the find's state; `kept` says in what state and how long it is kept;
`steps` lists what to do at the bench; `said` holds the finished parts and what is said of them.
Sources: tables soil_*, tissue, find_materials, packing_materials, contact_rules, state_rules, pack_defaults.
"""
