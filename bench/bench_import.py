"""Growth of the register intake: read and weigh 12,500 and 50,000 rows of finds, as CSV and as XLSX.

The promise is 50,000 rows in under 20 s with the recording; reading and weighing may take half of it (processor time
of one core). It fails when that is missed by more than a factor of two, or when four times the rows take more than
eight times as long.
"""

from __future__ import annotations

import io
import random
import sys
import time

from openpyxl import Workbook

from findhold.register.intake import Intake, Known, intake
from findhold.register.mapping import propose
from findhold.register.readfile import read_sheet
from findhold.register.rules import SiteFacts

SITE = SiteFacts(code="WCR26", zone="Europe/London", grid="EPSG:27700", vertical_datum="ODN")
HEADINGS = [
    "SF no.", "Cxt", "Description", "Material", "Condition", "L (cm)", "W (cm)", "H (cm)", "Wt (g)", "E", "N",
    "Level", "Exposed", "Analyses", "Count", "Human?",
]  # fmt: skip
PROMISE_S = 10.0


def made_rows(count: int) -> list[list[object]]:
    """Rows with one mistake in every five hundred, as a tired person would type them."""
    random.seed(1)
    rows: list[list[object]] = []
    for number in range(1, count + 1):
        state = "dmp" if number % 500 == 0 else random.choice(["damp", "W/L", "dry"])
        rows.append([
            number, f"({200 + number % 400})", f"sherd {number}", "hand-made pottery", state,
            round(random.uniform(2, 30), 1), round(random.uniform(2, 30), 1), round(random.uniform(1, 20), 1),
            random.randint(5, 20000), round(451300 + random.uniform(0, 100), 3),
            round(206800 + random.uniform(0, 100), 3), round(50 + random.uniform(0, 2), 2),
            f"{1 + number % 28:02d}/07/2026 {8 + number % 9:02d}:{number % 60:02d}", "lipid / 14C",
            1 + number % 9, "n",
        ])  # fmt: skip
    return rows


def as_csv(rows: list[list[object]]) -> bytes:
    lines = [";".join(HEADINGS), *(";".join(str(cell) for cell in row).replace(".", ",") for row in rows)]
    return ("\r\n".join(lines) + "\r\n").encode("cp1252")


def as_xlsx(rows: list[list[object]]) -> bytes:
    book = Workbook()
    sheet = book.active
    for row in [HEADINGS, *rows]:
        sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def timed(data: bytes, name: str, known: Known) -> tuple[float, float, Intake]:
    start = time.process_time()
    sheet = read_sheet(data, name)
    read = time.process_time()
    taken = intake(sheet, propose(sheet), site=SITE, known=known, answers={})
    return read - start, time.process_time() - read, taken


def main() -> int:
    known = Known(things={"context": {str(number): {} for number in range(200, 600)}})
    kept = True
    for kind, write in (("csv", as_csv), ("xlsx", as_xlsx)):
        spent = {}
        for count in (12_500, 50_000):
            reading, weighing, taken = timed(write(made_rows(count)), f"finds.{kind}", known)
            spent[count] = reading + weighing
            told = f"{len(taken.new)} new, {len(taken.mistakes)} mistakes, {len(taken.questions)} questions"
            print(f"{kind:5}{count:>7} rows  read {reading:5.2f} s  weigh {weighing:5.2f} s  {told}", flush=True)
        growth = spent[50_000] / spent[12_500]
        kept = kept and spent[50_000] < 2 * PROMISE_S and growth < 8
        print(f"{kind:5} growth from 12,500 to 50,000 rows: {growth:.1f} times", end="; ")
        print(f"promise {PROMISE_S:g} s, took {spent[50_000]:.1f} s")
    return 0 if kept else 1


if __name__ == "__main__":
    sys.exit(main())
