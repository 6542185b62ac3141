"""Every tabulated figure has a passport, a unit and a size that can be true."""

import csv
import math
import pathlib
import re
import statistics

import pytest

from findhold.sources import SEEN_WORDS
from findhold.tables.load import table

DATA = pathlib.Path(__file__).resolve().parents[2] / "src" / "findhold" / "tables" / "data"
TABLES = sorted(path.stem for path in DATA.glob("*.csv") if path.stem != "sources")

# Widest ratio of a figure to its column's median: a wrong prefix is a factor of a thousand.
WIDEST_RATIO = 300.0
# Columns that are wider by nature, with the reason.
WIDE_BY_NATURE: dict[tuple[str, str], str] = {}
# What a column's ending says about the figures that can stand in it.
RANGES = (
    (r"(^|_)rh(_|$)", 0.0, 1.0),
    (r"_fraction$", 0.0, 1.0),
    (r"_percent$", -100.0, 1000.0),
    (r"_kg_per_m3$", 0.5, 22_600.0),
    (r"_g_per_m2$", 1.0, 5_000.0),
    (r"(^|_)temp_c$|_c$", -50.0, 150.0),
    (r"_mm$", 0.0, 5_000.0),
    (r"_kg$", 0.0, 2_000.0),
    (r"_days$", 0.0, 4_000.0),
    (r"_hours$", 0.0, 10_000.0),
)


def rows_of(name: str) -> list[dict[str, str]]:
    return list(table(name).rows)


def as_number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


# Figures that name or count something, and have no unit.
NAMES_AND_COUNTS = {"number", "iso7000", "columns", "rows", "year"}


def numeric_columns(rows: list[dict[str, str]]) -> dict[str, list[float]]:
    columns: dict[str, list[float]] = {}
    for column in rows[0] if rows else ():
        cells = [row[column].strip() for row in rows if row[column] and row[column].strip()]
        figures = [as_number(cell) for cell in cells]
        if cells and all(figure is not None for figure in figures):
            columns[column] = figures
    return columns


def unit_stands_in_the_row(name: str, column: str) -> bool:
    """True when the header says that each row of this column carries its own unit, so sizes cannot be compared."""
    for part in table(name).header.get("units", "").split(";"):
        columns, _, unit = part.partition("=")
        if column in {word.strip() for word in columns.split(",")}:
            return bool(re.search(r"unit|as printed|as named", unit))
    return False


def outliers(figures: list[float], widest: float) -> list[float]:
    """Figures further from the column's median size than the widest ratio; zeros are left out."""
    sizes = [abs(figure) for figure in figures if figure]
    if len(sizes) < 3:
        return []
    middle = statistics.median(sizes)
    return [figure for figure in figures if figure and not 1 / widest <= abs(figure) / middle <= widest]


def test_there_are_tables_to_check():
    assert DATA.is_dir()
    assert TABLES


@pytest.mark.parametrize("name", TABLES)
def test_every_row_names_its_source_and_how_far_it_was_seen(name):
    rows = rows_of(name)  # the loader refuses an unknown source
    assert rows
    assert {row["seen"] for row in rows} <= set(SEEN_WORDS)


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_as_many_cells_as_the_heading(name):
    ragged = [number for number, row in enumerate(rows_of(name), 1) if None in row or None in row.values()]
    assert ragged == []


@pytest.mark.parametrize("name", TABLES)
def test_the_header_says_what_the_table_is_and_the_unit_of_every_numeric_column(name):
    header = table(name).header
    assert header.get("table")
    named = {part.partition("=")[0].strip() for part in header.get("units", "").split(";")}
    listed = {word.strip() for part in named for word in part.split(",")}
    known = listed | NAMES_AND_COUNTS
    assert [column for column in numeric_columns(rows_of(name)) if column not in known] == []


@pytest.mark.parametrize("name", TABLES)
def test_the_figures_of_a_column_are_of_one_size(name):
    odd = {
        column: strange
        for column, figures in numeric_columns(rows_of(name)).items()
        if (name, column) not in WIDE_BY_NATURE
        and not unit_stands_in_the_row(name, column)
        and (strange := outliers(figures, WIDEST_RATIO))
    }
    assert odd == {}


@pytest.mark.parametrize("name", TABLES)
def test_the_figures_lie_where_their_unit_lets_them(name):
    outside = [
        (column, figure)
        for column, figures in numeric_columns(rows_of(name)).items()
        for pattern, low, high in RANGES
        if re.search(pattern, column)
        for figure in figures
        if not low <= figure <= high or not math.isfinite(figure)
    ]
    assert outside == []


def test_columns_named_wide_by_nature_exist():
    missing = [(name, column) for name, column in WIDE_BY_NATURE if column not in rows_of(name)[0]]
    assert missing == []
    assert all(WIDE_BY_NATURE.values()) or not WIDE_BY_NATURE


def test_sources_are_unique_and_marked():
    with (DATA / "sources.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    keys = [row["key"] for row in rows]
    assert sorted(key for key in set(keys) if keys.count(key) > 1) == []
    assert {row["seen"] for row in rows} <= set(SEEN_WORDS)
    assert [
        row["key"] for row in rows if None in row or not row["title"] or not re.fullmatch(r"[a-z0-9-]+", row["key"])
    ] == []


def test_every_source_is_used_by_a_table_or_named_in_code():
    used = {row["source"] for name in TABLES for row in rows_of(name)}
    used |= {row.get("e_source", "") for name in TABLES for row in rows_of(name)}
    code = "\n".join(path.read_text(encoding="utf-8") for path in DATA.parents[1].rglob("*.py"))
    code += "\n".join(path.read_text(encoding="utf-8") for path in DATA.parents[3].glob("docs/models/*.md"))
    with (DATA / "sources.csv").open(encoding="utf-8", newline="") as file:
        keys = [row["key"] for row in csv.DictReader(file)]
    general = {"common-practice", "findhold-judgement"}
    assert [key for key in keys if key not in used | general and key not in code] == []


def test_a_slipped_decimal_would_be_found():
    assert outliers([1.2, 1.4, 1.1, 1300.0], WIDEST_RATIO) == [1300.0]
    assert outliers([1.2, 0.0, 1.4, 1.3], WIDEST_RATIO) == []
