"""Stores kept: where each box stands and may go, moving one, and what to do when a store fails."""
