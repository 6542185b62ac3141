"""Measuring a find or its block: by tape or from a scan, into one `block.MeasuredBlock`.

Front doors: `tape.measure_tape` (three sizes, a profile, a mass) and `scan.measure_scan` (a file of triangles). Both
ask before they take a size typed in another unit or a scan in the wrong one.
"""
