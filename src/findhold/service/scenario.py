"""The scenario file: one find, its box, its surroundings and its dates in one TOML file, without a ledger.

The keys are a public contract (docs/scenario-file.md). Units are part of the key names; unknown keys are errors with
near names; every mistake in the file is reported at once.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from findhold.errors import BadInput, Mistake, Mistakes, near_names
from findhold.service.packing.crating.keys import LISTS
from findhold.service.scenario_keys import FREE_SECTIONS, SECTIONS, STANDS_FOR


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """A checked scenario: sections as plain values, and where the file stands (paths in it are relative to that)."""

    title: str
    folder: Path
    find: dict[str, Any] = field(default_factory=dict)
    box: dict[str, Any] = field(default_factory=dict)
    wrapping: dict[str, Any] = field(default_factory=dict)
    surroundings: dict[str, Any] = field(default_factory=dict)
    hold: dict[str, Any] = field(default_factory=dict)
    stock: dict[str, Any] = field(default_factory=dict)
    deadlines: dict[str, Any] = field(default_factory=dict)
    dates: dict[str, Any] = field(default_factory=dict)
    lift: dict[str, Any] = field(default_factory=dict)
    cushion: dict[str, Any] = field(default_factory=dict)
    file: str = ""

    def path(self, name: str) -> Path:
        """A path written in the file, taken from the file's own folder."""
        return self.folder / name


REQUIRED_SECTIONS = ("find",)


def load_scenario(path: Path) -> Scenario:
    """Read and check a scenario file.

    Raises
    ------
    BadInput : no such file, or it is not TOML.
    Mistakes : every unknown key, missing key and impossible value, at once.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise BadInput(
            f"the scenario cannot be read ({why})", where=str(path), do="Check the path and the file"
        ) from error
    return parse_scenario(text, path)


def parse_scenario(text: str, path: Path) -> Scenario:
    """Check a scenario given as text; `path` is where it stands."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(
            f"this is not a TOML file ({error})",
            where=str(path),
            do="Mend that line; examples/ has files to start from",
        ) from error
    _refuse_crates(raw, path)
    mistakes = list(_mistakes(raw, path.name))
    if mistakes:
        raise Mistakes(mistakes=mistakes)
    values: dict[str, Any] = {name: dict(raw.get(name, {})) for name in SECTIONS}
    times = {"find": ("exposed_at",), "hold": ("packed_at", "open_at"), "deadlines": (), "dates": ()}
    for section, keys in times.items():
        for key in keys or tuple(values[section]):
            if isinstance(values[section].get(key), str):
                values[section][key] = datetime.fromisoformat(values[section][key])
    openings = values["hold"].get("openings", [])
    values["hold"]["openings"] = [datetime.fromisoformat(at) if isinstance(at, str) else at for at in openings]
    title = raw.get("title", path.stem)
    return Scenario(title=title, folder=path.parent, file=str(path), **values)


def _refuse_crates(raw: dict[str, Any], path: Path) -> None:
    """A crates file is another kind of file: say so instead of listing each of its sections."""
    there = [f"[[{name}]]" for name in LISTS if name in raw]
    there += [name for name in ("items_file", "crates_file") if name in raw]
    if there and "find" not in raw:
        raise BadInput(
            f"this is a crates file, not a scenario of one find: it has {', '.join(there)}",
            where=str(path),
            do=f"Use --crates: findhold plan --crates {path}",
        )


def check_section(name: str, section: dict[str, Any], file: str) -> None:
    """Check one section by itself, as it also stands in settings.toml; raises Mistakes with all that is wrong."""
    mistakes = list(_section_mistakes(name, section, file))
    if mistakes:
        raise Mistakes(mistakes=mistakes)


def _mistakes(raw: dict[str, Any], file: str) -> Iterator[Mistake]:
    """Every section and key that is unknown, missing or impossible."""
    title = raw.get("title", "")
    if not isinstance(title, str):
        yield _mistake(file, "title", title, "is not text", "a title in quotation marks")
    for name, section in raw.items():
        if name == "title":
            continue
        if name not in SECTIONS:
            wrong = "is not a section of a scenario" + _near(name, SECTIONS)
            yield _mistake(file, f"[{name}]", None, wrong, ", ".join(SECTIONS))
        elif not isinstance(section, dict):
            yield _mistake(file, name, section, "is not a section", f"[{name}] on a line of its own, its keys below")
        else:
            yield from _section_mistakes(name, section, file)
    for name in REQUIRED_SECTIONS:
        if name not in raw:
            yield from _section_mistakes(name, {}, file)


def _section_mistakes(name: str, section: dict[str, Any], file: str) -> Iterator[Mistake]:
    keys = dict.fromkeys(section, FREE_SECTIONS[name]) if name in FREE_SECTIONS else SECTIONS[name]
    for key, value in section.items():
        if key not in keys:
            wrong = "is not a key of this section" + _near(key, keys)
            yield _mistake(file, f"[{name}] {key}", None, wrong, ", ".join(keys))
        elif wrong_value := keys[key].check(value):
            yield _mistake(file, f"[{name}] {key}", value, wrong_value, keys[key].takes)
    for key, known in keys.items():
        if known.required and key not in section and STANDS_FOR.get(key) not in section:
            yield _mistake(file, f"[{name}] {key}", None, "is missing", known.takes)


def _mistake(file: str, key: str, value: Any, wrong: str, allowed: str) -> Mistake:
    shown = "" if value is None else str(value)
    return Mistake(file=file, row=None, column=key, value=shown, wrong=wrong, allowed=allowed)


def _near(name: str, known: dict[str, Any]) -> str:
    near = near_names(name, list(known))
    return f"; did you mean {near[0]}?" if near else ""
