"""Intake of a register: rows that are new, rows that differ from the ledger, and everything that must be settled."""

from __future__ import annotations

from collections.abc import Callable
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from findhold.errors import Mistake, Question, UnknownName
from findhold.register import days, rules
from findhold.register.cells import Names, read_column, settle_words
from findhold.register.compare import OTHER, Change, Row, compare
from findhold.register.kinds import KINDS, SIZE_PARTS
from findhold.register.mapping import Mapping, fitted
from findhold.register.numbers import ColumnFacts, Reading, read_sizes
from findhold.register.positions import check_positions
from findhold.register.readfile import Sheet
from findhold.register.rules import Draft, SiteFacts
from findhold.register.values import as_it_stands
from findhold.tables.contact import act_names, find_act, find_analysis
from findhold.tables.firstaid import find_part, part_names
from findhold.tables.materials import find_material, find_material_names
from findhold.tables.naming import plain_name

_PARTS = (*part_names(), *find_material_names())
_MAPPING_ANSWERS = ("column ", "field ", "kind", "worksheet")


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the ledger has: `things` is kind to key to fields; `analyses` the names of analyses (empty: any).

    `now` is the moment of the import; days that lie after it are asked about (None: they are not).
    """

    things: dict[str, dict[str, dict[str, Any]]] = field(default_factory=dict)
    analyses: tuple[str, ...] = ()
    now: datetime | None = None

    def plus(self, taken: Intake) -> Known:
        """This with the new rows and changes of an intake, for the next worksheet of the same file."""
        things = {kind: dict(rows) for kind, rows in self.things.items()}
        for row in taken.new:
            things.setdefault(row.kind, {})[row.key] = dict(row.fields)
        for change in (*taken.filled, *taken.changed):
            rows = things[change.kind]
            rows[change.key] = {**rows[change.key], change.field: change.new}
        return replace(self, things=things)


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """A register weighed against the ledger. While a mistake or question stands, nothing may be recorded.

    `filled` are values where the ledger had none; `changed` are values that differ from the recorded ones.
    """

    kind: str
    new: tuple[Row, ...]
    changed: tuple[Change, ...]
    unchanged: int
    mistakes: tuple[Mistake, ...]
    questions: tuple[Question, ...]
    notes: tuple[str, ...]
    filled: tuple[Change, ...] = ()
    unused_answers: tuple[str, ...] = ()

    @property
    def settled(self) -> bool:
        """True when there is no mistake and no question left."""
        return not self.mistakes and not self.questions


def intake(
    sheet: Sheet,
    mapping: Mapping,
    *,
    site: SiteFacts,
    known: Known,
    answers: AnyMapping[str, str],
    known_materials: tuple[str, ...] = (),
) -> Intake:
    """Read every row of a register by its mapping and compare it with the ledger.

    Not for recording: it decides what would be recorded, and the caller appends it only when all is settled.

    Parameters
    ----------
    sheet : the file as read.
    mapping : which column means which field; its own answers count as given.
    site : code, zone, grid, datum and stated range of the site.
    known : what the ledger has.
    answers : answers to questions of an earlier pass, by what they are about.
    known_materials : names of find materials; empty leaves materials as typed.

    Returns
    -------
    Intake with all mistakes and questions at once. An empty cell says nothing: it never deletes a recorded value.

    Raises
    ------
    UnknownName : an answer names a time zone that does not exist.
    """
    given = {**mapping.answers, **answers}
    if not mapping.kind or sheet.questions or not sheet.headings:
        return _only_questions(sheet, mapping)
    mapping = fitted(mapping, sheet)
    draft, day_only = _read_rows(sheet, mapping, given, site)
    if known_materials or known.analyses:
        _settle_names(draft, known_materials, known.analyses)
    recorded = known.things.get(mapping.kind, {})
    stopped = _apply_rules(draft, site, known, _asked_fields(mapping))
    compared = compare(draft, recorded, stopped, day_only)
    order = {heading: place for place, heading in enumerate(sheet.headings)}
    mistakes = [*sheet.mistakes, *draft.mistakes]
    mistakes.sort(key=lambda told: (told.row or 0, order.get(told.column, -1)))
    used = draft.answered
    return Intake(
        kind=mapping.kind,
        new=compared.new,
        filled=compared.filled,
        changed=compared.changed,
        unchanged=compared.unchanged,
        mistakes=tuple(mistakes),
        questions=tuple(_with_refused_answers([*_still_open(mapping, draft, recorded), *draft.questions], given)),
        notes=_notes(sheet, mapping, draft, said=mapping.fixed if compared.new else {}),
        unused_answers=tuple(a for a in given if a not in used and not a.startswith(_MAPPING_ANSWERS)),
    )


def _asked_fields(mapping: Mapping) -> set[str]:
    """Fields that a question about the columns may still settle; they are not called missing."""
    fields = KINDS[mapping.kind].fields
    said = {question.about.removeprefix("field ") for question in mapping.questions}
    offered = {choice for question in mapping.questions for choice in question.choices}
    return {name for name in fields if name in said | offered}


def _still_open(mapping: Mapping, draft: Draft, recorded: AnyMapping[str, Any]) -> list[Question]:
    """The questions about the columns; a file of known things only need not say again what the ledger has."""
    all_known = bool(draft.keys) and all(key in recorded for key in draft.keys)
    return [question for question in mapping.questions if not (all_known and question.about.startswith("field "))]


def _apply_rules(draft: Draft, site: SiteFacts, known: Known, asked: set[str]) -> set[int]:
    """Every rule across rows and ledger; the rows that are stopped because their number is used again."""
    recorded = known.things.get(draft.kind.name, {})
    rules.take_off_site(draft, site)
    rules.number_bulk_finds(draft)
    rules.numbers_once(draft)
    rules.spelt_as_known(draft, recorded)
    rules.needed_fields(draft, asked, recorded)
    rules.references(draft, known.things)
    days.days_in_order(draft, recorded)
    days.days_to_come(draft, recorded, known.now)
    check_positions(draft, site, known.things)
    return rules.numbers_not_reused(draft, recorded)


def _only_questions(sheet: Sheet, mapping: Mapping) -> Intake:
    questions = sheet.questions or mapping.questions
    return Intake(
        kind=mapping.kind,
        new=(),
        changed=(),
        unchanged=0,
        mistakes=sheet.mistakes,
        questions=questions,
        notes=sheet.notes,
    )


def _read_rows(
    sheet: Sheet, mapping: Mapping, answers: dict[str, str], site: SiteFacts
) -> tuple[Draft, dict[int, tuple[str, ...]]]:
    """All columns read by their fields, put together as rows, with the mistakes of single cells."""
    kind = KINDS[mapping.kind]
    place = {heading: index for index, heading in enumerate(sheet.headings)}
    headings = {name: heading for heading, name in mapping.columns.items() if heading in place}
    for part in SIZE_PARTS.get(kind.name, ()):
        if "size" in headings:
            headings.setdefault(part, headings["size"])
    draft = Draft(
        filename=sheet.filename,
        kind=kind,
        rows=[],
        numbers=sheet.row_numbers,
        headings=headings,
        raw=lambda index, name: sheet.rows[index][place[headings[name]]] if name in headings else "",
        answers=answers,
    )
    columns = _read_columns(sheet, mapping, answers, site.zone)
    names = list(columns)
    by_row = zip(*(columns[name].values for name in names), strict=True) if names else [()] * len(sheet.rows)
    for values in by_row:
        draft.rows.append({n: v for n, v in zip(names, values, strict=True) if v is not None})
    day_only: dict[int, tuple[str, ...]] = {}
    for name, reading in columns.items():
        _take_up(draft, name, reading)
        for index in reading.day_only:
            day_only[index] = (*day_only.get(index, ()), name)
    for name, value in mapping.fixed.items():
        if f"field {name}" not in answers:
            draft.implied.add(name)
        for fields in draft.rows:
            fields.setdefault(name, value)
    _keep_other_cells(draft, sheet, mapping)
    return draft, day_only


def _keep_other_cells(draft: Draft, sheet: Sheet, mapping: Mapping) -> None:
    """Put the cells of columns without a field into their rows as they stand, so that nothing of the file is lost."""
    columns = [(heading, sheet.headings.index(heading)) for heading in mapping.unmapped]
    for cells, fields in zip(sheet.rows if columns else (), draft.rows, strict=bool(columns)):
        kept = {heading: as_it_stands(cells[place]) for heading, place in columns if cells[place] != ""}
        if kept:
            fields[OTHER] = kept


def _read_columns(sheet: Sheet, mapping: Mapping, answers: dict[str, str], zone: str | None) -> dict[str, Reading]:
    """Every mapped column of the file as read, by field; a column of sizes is three fields."""
    kind = KINDS[mapping.kind]
    cells_by_column = dict(zip(sheet.headings, zip(*sheet.rows, strict=True), strict=False))
    columns: dict[str, Reading] = {}
    for heading, name in mapping.columns.items():
        if heading not in sheet.headings:
            continue
        facts = ColumnFacts(heading=heading, unit=mapping.units.get(heading, ""), answers=answers)
        cells = cells_by_column.get(heading, ())
        if kind.fields[name].type == "size":
            parts = read_sizes(cells, kind.fields[name], facts)
            columns.update(zip(SIZE_PARTS[kind.name], parts, strict=True))
        else:
            columns[name] = read_column(cells, kind.fields[name], facts, zone)
    return columns


def _take_up(draft: Draft, name: str, reading: Reading) -> None:
    """Put the mistakes, questions and notes of one column into the draft."""
    for index, (wrong, allowed) in reading.bad.items():
        draft.wrong(index, name, wrong, allowed)
    if reading.questions and name in {key for key, spec in draft.kind.fields.items() if spec.required}:
        # A needed value that waits for an answer is not missing.
        draft.bad.update((index, name) for index, value in enumerate(reading.values) if value is None)
    draft.questions.extend(reading.questions)
    draft.notes.extend(reading.notes)
    draft.answered |= reading.answered


def _settle_names(draft: Draft, materials: tuple[str, ...], analyses: tuple[str, ...]) -> None:
    """Check materials and analyses against their lists, under all the names the tables give them."""
    lists = {
        "material": Names(label="materials", known=materials, recognises=_recogniser(materials, find_material)),
        "analyses": Names(label="analyses", known=analyses, recognises=_recogniser(analyses, find_analysis)),
        "part_materials": Names(label="parts", known=_PARTS, recognises=_recognised(find_part)),
        "done": Names(label="acts", known=act_names(), recognises=_recognised(find_act)),
    }
    for name, names in lists.items():
        if not names.known or name not in draft.headings or (name == "material" and draft.kind.name != "find"):
            continue
        facts = ColumnFacts(heading=draft.headings[name], answers=dict(draft.answers))
        values = [fields.get(name) for fields in draft.rows]
        reading = settle_words(values, names, name, facts)
        for fields, value in zip(draft.rows, reading.values, strict=True):
            if value is not None:
                fields[name] = value
        _take_up(draft, name, reading)


def _recognised(look_up: Callable[[str], Any]) -> Callable[[str], bool]:
    """Whether a word is any name the tables have."""

    def recognises(word: str) -> bool:
        try:
            look_up(word)
        except UnknownName:
            return False
        return True

    return recognises


def _recogniser(known: tuple[str, ...], look_up: Callable[[str], Any]) -> Callable[[str], bool]:
    """Whether a word is one of the names, or another name the tables have for one of them."""
    plain_known = {plain_name(name) for name in known}

    def recognises(word: str) -> bool:
        if plain_name(word) in plain_known:
            return True
        try:
            return plain_name(look_up(word).name) in plain_known
        except UnknownName:
            return False

    return recognises


def _with_refused_answers(questions: list[Question], answers: dict[str, str]) -> list[Question]:
    """Questions asked again because the answer given is none of their choices, with that said first."""
    return [
        replace(asked, text=f"{answers[asked.about]!r} is not one of the choices. {asked.text}")
        if asked.about in answers
        else asked
        for asked in questions
    ]


def _notes(sheet: Sheet, mapping: Mapping, draft: Draft, said: AnyMapping[str, str]) -> tuple[str, ...]:
    """What was found and assumed, one line each; `said` are values that all new rows take from a heading or answer."""
    notes = list(sheet.notes)
    if sheet.encoding == "Windows-1252":
        notes.append("the text was read as Windows-1252")
    kept = [heading for heading in mapping.unmapped if any(cell != "" for cell in sheet.column(heading))]
    if kept:
        notes.append(f"kept as they stand, not used: {', '.join(kept)}")
    gone = [heading for heading in mapping.columns if heading not in sheet.headings]
    if gone:
        notes.append(f"columns of the mapping that this file has not: {', '.join(gone)}")
    for name, value in said.items():
        number = draft.headings.get("number", "")
        how = "as answered" if f"field {name}" in draft.answers else f"said by the heading {number!r}"
        notes.append(f"{draft.kind.fields[name].label.lower()} is {value!r} in all rows, {how}")
    return tuple(dict.fromkeys([*notes, *draft.notes]))
