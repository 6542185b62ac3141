"""Write the two demo files that are not typed by hand: the finds register (XLSX) and the logger file (CSV).

Run from the project's root: .venv/bin/python builders/build_demo.py
The results are committed; nobody needs to run this unless the demo itself is to change. Everything here is invented.
"""

import csv
import datetime as dt
import math
import pathlib
import random

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font

DEMO = pathlib.Path(__file__).resolve().parent.parent / "src" / "findhold" / "demo"
HEADINGS = (
    "SF no.",
    "Reg. / bulk",
    "Cxt",
    "Description",
    "Mat.",
    "Condition",
    "Remarks on lifting",
    "L (cm)",
    "W (cm)",
    "H (cm)",
    "Wt (g)",
    "Soil round it",
    "Water (kg/kg dry)",
    "E",
    "N",
    "Level (m OD)",
    "Exposed",
    "Boxed",
    "Planned analyses",
    "No. of pieces",
    "Fabric",
    "Found by",
    "Store",
    "Specialist date",
    "Human?",
    "Treasure?",
    "Hazards",
    "Notes",
    "Also made of",
)
ALSO_MADE_OF = {37: "charred crust", 44: "mineral-preserved organics", 52: "thread", 55: "human bone"}
"""What is known of a find's other parts, by its number."""


def at(day: int, hour: int, minute: int) -> dt.datetime:
    """A moment of July 2026 on the site's own clock."""
    return dt.datetime(2026, 7, day, hour, minute)


def day_of(month: int, day: int, hour: int = 9) -> dt.datetime:
    """A planned opening, on the site's own clock."""
    return dt.datetime(2026, month, day, hour, 30)


FINDS = (
    (
        37, "registered", 217, "jar, hand-made, crushed in its soil block", "hand-made pottery", "damp",
        "block under-cut on to board; charred crust on inside of shoulder; not turned", 23, 21, 14, 12200,
        "silty clay loam", 0.2, 451382.914, 206866.207, 51.62, at(28, 10, 20), at(28, 15, 40), "lipid, radiocarbon", 1,
        "quartz and organic", "SO", "Fridge 1", day_of(9, 2), "no", "no", "", "soil inside and out retained",
    ),
    (
        41, "registered", 218, "bowl, turned, in pieces", "wood", "W/L",
        "lifted on board under film; lay upside down", 21, 19, 6, 1350,
        "", None, 451383.561, 206865.742, 51.53, at(29, 14, 5), at(29, 16, 20), "", 9,
        "", "IP", "Fridge 1", day_of(8, 3), "no", "no", "", "rim with tool marks; species sample to be agreed first",
    ),
    (
        42, "registered", 218, "shoe sole, stitched", "leather", "W/L",
        "lifted flat on sheet", 24.5, 8.5, 1.2, 110,
        "", None, 451384.102, 206866.655, 51.55, at(29, 15, 40), at(29, 16, 45), "", 1,
        "", "SO", "Fridge 1", day_of(8, 7, 11), "no", "no", "", "",
    ),
    (
        44, "registered", 216, "knife in soil block, organics preserved by corrosion", "Fe", "damp",
        "X-ray before opening", 26, 11, 7, 3600,
        "silty clay loam", 0.19, 451382.052, 206866.754, 51.74, at(27, 11, 30), at(27, 15, 50), "X-ray, xrf", 1,
        "", "IP", "Fridge 2", day_of(8, 4), "no", "no", "", "handle and sheath to be looked for in the X-ray",
    ),
    (
        45, "registered", 216, "pin, globular head", "Cu alloy", "dry",
        "lay in dry upper fill; surface dry when lifted", 9.2, 0.8, 0.8, 6,
        "", None, 451382.606, 206867.298, 51.71, at(27, 15, 10), at(27, 16, 30), "xrf", 1,
        "", "MH", "Fridge 2", day_of(8, 4, 11), "no", "no", "",
        "green spots below the head: conservator to look for chlorides",
    ),
    (
        48, "registered", 217, "comb, single-sided, two tooth plates", "antler", "damp",
        "two plates loose", 7.8, 4.2, 1.1, 28,
        "", None, 451383.987, 206865.168, 51.64, at(30, 9, 50), at(30, 14, 30), "", 3,
        "", "SO", "Fridge 2", day_of(8, 25), "no", "no", "", "",
    ),
    (
        52, "registered", 216, "bead string in soil, at least 14 beads", "glass", "damp",
        "beads in order on a lost thread; lifted whole", 12, 9, 5.5, 1040,
        "silt loam", 0.2, 451382.648, 206867.012, 51.69, at(30, 12, 15), at(30, 15, 10), "xrf", 14,
        "", "MH", "Fridge 2", day_of(8, 6), "no", "no", "", "thread may survive in corrosion or as a stain",
    ),
    (
        55, "registered", 232, "urn, upright, with burnt bone", "cremation urn", "damp",
        "bandaged over film, contents in; not tilted", 21, 21, 23, 17200,
        "sandy loam", 0.088, 451388.547, 206863.391, 51.83, at(31, 10, 45), at(31, 15, 30), "radiocarbon", 1,
        "grog", "SO", "Cool room", day_of(8, 26), "yes", "no", "mould spores",
        "human remains: check local rules before opening; licence seen by MH",
    ),
    (
        "B216", "bulk", 216, "sherds, may belong to 37", "hand-made pottery", "damp",
        "bagged by quadrant", 24, 16, 6, 1420,
        "", 0.12, 451382.45, 206866.85, 51.72, at(27, 14, 0), at(27, 16, 5), "lipid", 23,
        "quartz and organic", "IP", "Cool room", day_of(8, 7, 14), "no", "no", "",
        "not washed; compare fabric with 37; water from one sherd weighed wet and dry",
    ),
)  # fmt: skip


def write_register() -> None:
    """The finds register as a finds officer's workbook: untidy headings, and an empty row before the bulk finds."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Finds register"
    sheet.append(HEADINGS)
    for row in FINDS:
        if row[1] == "bulk":
            sheet.append([])
        sheet.append([None if value == "" else value for value in (*row, ALSO_MADE_OF.get(row[0]))])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    for name, width in {"D": 40, "G": 34, "L": 16, "Q": 17, "R": 17, "S": 20, "X": 17, "AB": 44, "AC": 22}.items():
        sheet.column_dimensions[name].width = width
    for row in sheet.iter_rows(min_row=2):
        for cell in row:
            if isinstance(cell.value, dt.datetime):
                cell.number_format = "DD/MM/YYYY HH:MM"
    sheet.freeze_panes = "B2"
    book.properties.creator = "Withy Carr finds hut (invented)"
    book.properties.title = "WCR26 finds register (invented)"
    book.properties.created = book.properties.modified = dt.datetime(2026, 7, 31, 17, 0)
    book.save(DEMO / "finds_register.xlsx")


def fridge_temp_c(hours: float, failed_at: float, mended_at: float, jitter: random.Random) -> float:
    """Air in the second fridge: a compressor cycle of 40 minutes about 4.6 °C, and 31 hours without power."""
    cycle = 4.6 + 1.1 * math.sin(2 * math.pi * hours / (40 / 60))
    room = 21.0 + 2.0 * math.sin(2 * math.pi * (hours - 6) / 24)
    if failed_at <= hours < mended_at:
        cycle = room - (room - 4.6) * math.exp(-(hours - failed_at) / 6.5)
    elif hours >= mended_at:
        peak = room - (room - 4.6) * math.exp(-(mended_at - failed_at) / 6.5)
        cycle += (peak - 4.6) * math.exp(-(hours - mended_at) / 1.6)
    return cycle + jitter.gauss(0, 0.12)


def write_logger() -> None:
    """Two weeks of ten-minute readings in UTC, from 24 July to 7 August 2026."""
    jitter = random.Random(31)
    start = dt.datetime(2026, 7, 24, 8, 0)
    failed = (dt.datetime(2026, 7, 31, 21, 40) - start).total_seconds() / 3600
    mended = failed + 31
    path = DEMO / "fridge2_logger.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["Time (UTC)", "Temperature (°C)", "Humidity (%RH)"])
        for step in range(14 * 24 * 6 + 1):
            hours = step / 6
            temp_c = fridge_temp_c(hours, failed, mended, jitter)
            rh_percent = (93.0 if failed <= hours < mended else 76.0) + jitter.gauss(0, 1.5)
            stamp = start + dt.timedelta(minutes=10 * step)
            writer.writerow([stamp.strftime("%Y-%m-%d %H:%M:%S"), f"{temp_c:.1f}", f"{min(rh_percent, 98.0):.0f}"])


if __name__ == "__main__":
    write_register()
    write_logger()
