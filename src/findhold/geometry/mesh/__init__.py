"""Scans: triangle files checked and read, joined into a surface, and measured in millimetres.

Front doors: `files.read_mesh` (bytes to corners and triangles, every size checked first), `surface.join` (pieces,
holes, orientation), `body.weigh_up` (volume, centre, hull), `outline.silhouettes` (what it looks like from side and
end), `crossing.cross_check` (does the surface run through itself).
"""
