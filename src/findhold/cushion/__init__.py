"""Cushioning against drops and jolts, and what the bed presses on the find."""
