"""Drawing in millimetres: marks know lines, areas, text and matrices, never a find.

Front doors: `marks` (what can be drawn), `svg.to_svg` (marks to SVG text), `pdf.drawing_pdf`, `pdf.compile_pdf`,
`pdf.png_pages` (pages to PDF and PNG bytes), `hatch` (materials' patterns), `scale` (bar, north point, dimensions,
sheet frame), `handling` (handling marks), `lettering` (how wide a text is, which letters are missing).
y grows downwards, the origin is the sheet's top left corner, every length is in millimetres on the paper.
"""
