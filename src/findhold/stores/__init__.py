"""Shelves, what may stand beside what, where a box can go."""
