"""Shelves, what may stand beside what, where a box can go.

Front doors: `rules.judge` (may this box stand there, and if not, which rule and figure), `places.places_for` (every
shelf for a box, best first, with reasons, and what could be moved when all are full), `assign.assign` (shelves for
several boxes at once, none twice), `free.free_on` (what is left on a shelf), `floor.lay` (boxes on a floor).
"""
