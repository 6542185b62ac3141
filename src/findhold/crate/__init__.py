"""Many bags and boxes in crates, and several finds in one box."""
