"""Bookings of the ledger and of scenario files: plan, fix, promise, an absence, the calendar."""
