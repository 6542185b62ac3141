"""At the bench and at the fridge door: packing step by step, rounds of a store, and what a device needs by itself.

Front doors: `packing.pack_view`, `packing.tick_step`, `packing.undo_step`, `closing.close_and_weigh`,
`photos.keep_on_hold`, `shelving.shelve`, `trying.try_plan`; `rounds.round_list`, `checks.check_box`;
`kits.check_kit` (thresholds of one box by day, so that a device answers as the service would);
`codes.read_code` (what a scanned or typed text means).
"""
