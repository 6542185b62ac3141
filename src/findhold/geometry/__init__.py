"""Shapes and sizes in millimetres, without knowing what a find is.

Front door: `fit` (an upright block in boxes, both turns of the plan, what is to spare or short along each side).
"""
