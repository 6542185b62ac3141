"""Paper: what a person holds in the hand while packing and while the find waits.

Front doors:
    section.section_drawing, section.plan_drawing   measured sections and plan of the packed box
    steps.steps_drawing, steps.step_drawing   the order of work in pictures
    strip.strip_drawing                             the wait as a strip of time
    sheet.packing_sheet_pdf                         the packing sheet, one A4 page a box

Nothing here decides: every figure is handed in, checked against the others, and drawn or printed.
"""
