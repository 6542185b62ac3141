"""Drawing in millimetres: marks know lines, areas, text and matrices, never a find.

Front doors: `marks` (what can be drawn), `svg.to_svg` (marks to SVG text), `pdf` (pages to PDF bytes through typst).
y grows downwards, the origin is the sheet's top left corner, every length is in millimetres on the paper.
"""
