"""How long 1,000 labels take: 250 boxes with their four labels each, and 1,000 labels that are all different.

Run with: python bench/bench_labels.py
"""

from __future__ import annotations

import sys
import time
from datetime import UTC, date, datetime

from findhold.label.codes import short_modules, speaking_modules
from findhold.label.layout import stock_named
from findhold.label.release import read_back, typeset
from findhold.label.wording import PARTS, LabelFacts
from findhold.record.identity import identity

WHEN = datetime(2026, 8, 1, 9, 0, tzinfo=UTC)


def facts(number: int) -> LabelFacts:
    """An invented find of the invented site."""
    return LabelFacts(
        site_code="WCR26",
        site_name="Withy Carr",
        find_number=str(number),
        find_kind="registered",
        context=str(200 + number % 60),
        what="hand-made jar, crushed in its soil block",
        material="ceramic",
        state="damp",
        find_id=identity("WCR26", "F", number),
        box_id=identity("WCR26", "B", number),
        packed_on=date(2026, 7, 30),
        easting_m=451382.0 + number / 100,
        northing_m=206866.13,
        level_m=51.6,
        grid="EPSG:27700",
        vertical_datum="ODN",
        keep_until=date(2026, 8, 13),
        analyses=("lipid", "radiocarbon"),
        person="M. Holt",
        mass_kg=6.482,
        place="Fridge 1, middle shelf",
    )


def main() -> int:
    """Print one line a case."""
    stock = stock_named("A4 2 x 4")
    sets = {
        "250 boxes, 4 labels each": [(facts(n), part) for n in range(1, 251) for part in PARTS],
        "1,000 different labels": [(facts(n), "lid") for n in range(1, 1001)],
    }
    typeset([(facts(9999), "lid")], stock, date=WHEN)
    for name, labels in sets.items():
        speaking_modules.cache_clear()
        short_modules.cache_clear()
        start = time.perf_counter()
        made = typeset(labels, stock, date=WHEN)
        drawn = time.perf_counter()
        read = read_back(made.pdf, labels, stock, made.laid_out)
        done = time.perf_counter()
        print(
            f"{name}: to PDF {drawn - start:.2f} s ({len(made.pdf) / 1024:.0f} KB), "
            f"{len(read)} read back in {done - drawn:.2f} s"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
