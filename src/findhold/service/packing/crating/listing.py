"""Read a crates file (TOML) and the lists it may name (CSV): every mistake at once, nothing guessed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from findhold.errors import BadInput, Mistake, Mistakes, near_names
from findhold.register.textfile import read_text_rows
from findhold.service.packing.crating.keys import COLUMNS, LISTS, ROOT, SECTIONS
from findhold.service.scenario_keys import Key

Row = dict[str, Any]
_YES, _NO = ("yes", "true", "1", "y", "x"), ("no", "false", "0", "n")


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateFile:
    """A checked crates file as plain values; lists that it does not hold are empty."""

    title: str
    root: Row = field(default_factory=dict)
    items: tuple[Row, ...] = ()
    crates: tuple[Row, ...] = ()
    shelves: tuple[Row, ...] = ()
    shared_boxes: tuple[Row, ...] = ()
    limits: Row = field(default_factory=dict)


def read_crates(path: Path) -> CrateFile:
    """Read a crates file: TOML with items and crates, or CSV with crates alone.

    Raises
    ------
    BadInput : no such file, or not TOML or CSV.
    Mistakes : every unknown key, missing key and impossible value, at once.
    """
    if path.suffix.lower() == ".csv":
        return CrateFile(title=path.stem, crates=read_list("crates", path))
    try:
        raw = tomllib.loads(_bytes(path).decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        do = "Mend that line; examples/crates-to-archive.toml is one to start from"
        raise BadInput(f"this is not a TOML file ({error})", where=str(path), do=do) from error
    if "find" in raw:
        do = f"Leave out --crates: findhold plan {path}"
        raise BadInput("this is a scenario of one find, not a crates file", where=str(path), do=do)
    mistakes = list(_mistakes(raw, path.name))
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    lists: dict[str, tuple[Row, ...]] = {name: tuple(raw.get(name, ())) for name in LISTS}
    for name in ("items", "crates"):
        given = raw.get(f"{name}_file")
        if given is not None:
            lists[name] = (*lists[name], *read_list(name, path.parent / given))
    root = {key: raw[key] for key in ROOT if key in raw}
    return CrateFile(title=raw.get("title", path.stem), root=root, limits=raw.get("limits", {}), **lists)


def read_list(name: str, path: Path) -> tuple[Row, ...]:
    """Items or crates of a CSV file with a heading; sizes in three columns.

    Raises
    ------
    Mistakes : every cell that cannot be read or cannot be true, with its row.
    """
    table = read_text_rows(_bytes(path), path.name).rows
    heading = [cell.strip().casefold() for cell in table[0]] if table else []
    keys, sides = LISTS[name], COLUMNS[name]
    known = [*(key for key in keys if not key.endswith("size_mm") and key != "inside_mm"), *sides]
    unknown = [cell for cell in heading if cell and cell not in known]
    missing = [key for key in known if (key in sides or (key in keys and keys[key].required)) and key not in heading]
    mistakes = [
        _mistake(path.name, column, None, "is no column of this list" + _near(column, known), ", ".join(known))
        for column in unknown
    ]
    mistakes += [_mistake(path.name, column, None, "is missing in the heading", ", ".join(known)) for column in missing]
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    rows = []
    for number, cells in enumerate(table[1:], 2):
        if any(cell.strip() for cell in cells):
            values = dict(zip(heading, (cell.strip() for cell in cells), strict=False))
            row, wrong = _from_cells(name, values)
            mistakes += [
                _mistake(path.name, column, value, words, takes, row=number) for column, value, words, takes in wrong
            ]
            rows.append(row)
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    return tuple(rows)


_Wrong = tuple[str, Any, str, str]


def _from_cells(name: str, values: Mapping[str, str]) -> tuple[Row, list[_Wrong]]:
    """One row of text as typed values, and what is wrong with it."""
    keys, sides = LISTS[name], COLUMNS[name]
    sizes = "size_mm" if name == "items" else "inside_mm"
    row: Row = {key: _typed(keys[key], value) for key, value in values.items() if value and key in keys}
    row[sizes] = [_figure(values.get(side, "")) for side in sides]
    wrong = [
        (key, values.get(key, ""), said, keys[key].takes)
        for key, value in row.items()
        if key != sizes and (said := keys[key].check(value))
    ]
    wrong += [(key, "", "is missing", keys[key].takes) for key in keys if keys[key].required and key not in row]
    if keys[sizes].check(row[sizes]):
        wrong += [
            (
                side,
                values.get(side, ""),
                "is missing, zero, negative, too large or not a number",
                "mm, above 0 and up to 5000",
            )
            for side, value in zip(sides, row[sizes], strict=True)
            if not isinstance(value, float) or not 0 < value <= 5000
        ]
    return row, wrong


def _typed(key: Key, text: str) -> Any:
    """A cell as the kind of value its key takes; text that is none stays text and fails the check."""
    if key.check(True) is None:
        return True if text.casefold() in _YES else False if text.casefold() in _NO else text
    if key.check(text) is None:
        return text
    figure = _figure(text)
    if isinstance(figure, float) and key.check(int(figure)) is None and figure == int(figure):
        return int(figure)
    return figure


def _figure(text: str) -> float | str:
    try:
        return float(text.replace(",", ".") if text.count(",") == 1 and "." not in text else text)
    except ValueError:
        return text


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        do = "Check the path and the file"
        raise BadInput(f"the file cannot be read ({error.strerror})", where=str(path), do=do) from error


def _mistakes(raw: Mapping[str, Any], file: str) -> Iterator[Mistake]:
    """Every key that is unknown, missing or impossible, list by list."""
    known = [*ROOT, *LISTS, *SECTIONS]
    for key, value in raw.items():
        if key in ROOT:
            if wrong := ROOT[key].check(value):
                yield _mistake(file, key, value, wrong, ROOT[key].takes)
        elif key in SECTIONS:
            if isinstance(value, dict):
                yield from _in_section(f"[{key}]", value, SECTIONS[key], file)
            else:
                yield _mistake(file, key, value, "is not a section", f"[{key}] on a line of its own, its keys below")
        elif key in LISTS:
            if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
                yield _mistake(
                    file, key, None, "is not a list", f"[[{key}]] on a line of its own for each, its keys below"
                )
                continue
            for number, row in enumerate(value, 1):
                called = row.get("number") or row.get("name") or number
                yield from _in_section(f"[[{key}]] {called}", row, LISTS[key], file)
        else:
            yield _mistake(file, key, None, "is not a part of a crates file" + _near(key, known), ", ".join(known))


def _in_section(place: str, row: Row, keys: Mapping[str, Key], file: str) -> Iterator[Mistake]:
    for key, value in row.items():
        if key not in keys:
            yield _mistake(file, f"{place} {key}", None, "is not a key here" + _near(key, list(keys)), ", ".join(keys))
        elif wrong := keys[key].check(value):
            yield _mistake(file, f"{place} {key}", value, wrong, keys[key].takes)
    for key, known in keys.items():
        if known.required and key not in row:
            yield _mistake(file, f"{place} {key}", None, "is missing", known.takes)


def _mistake(file: str, column: str, value: Any, wrong: str, allowed: str, *, row: int | None = None) -> Mistake:
    shown = "" if value is None else str(value)
    return Mistake(file=file, row=row, column=column, value=shown, wrong=wrong, allowed=allowed)


def _near(name: str, known: list[str]) -> str:
    near = near_names(name, known)
    return f"; did you mean {near[0]}?" if near else ""
