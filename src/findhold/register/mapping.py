"""Which column means which field: proposed from the headings, asked once, kept as a small TOML file."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping as AnyMapping
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher, get_close_matches
from typing import Any, NamedTuple

from findhold.errors import BadInput, Question, UnknownName
from findhold.register.contents import choice_fields, fields_by_cells, mostly_filled, shown_words
from findhold.register.kinds import KINDS, SIZE_PARTS, Field, heading_words, kind_named, plain
from findhold.register.numbers import UNIT_WORDS, measure, split_unit
from findhold.register.readfile import Sheet

IGNORE = "not used"
_IGNORE_WORDS = (IGNORE, "not read")
_FILE_KEYS = ("kind", "columns", "units", "answers", "not_used", "not_read")
# Headings that say by themselves that the finds are registered ones: a word, not a bracket.
_REGISTERED_WORDS = re.compile(r"^(?:sf|rf|small finds?|registered finds?|einzelfund|isolat|iso)\b")
_NEAR = 0.84  # difflib ratio: one letter in six may differ, so 'Contxt' is asked about and 'Content' is not

_LEAST_SHARE = 0.5  # of the columns, before the kind of a file is taken as told by its headings
# Answers about one number or one file's rows are not kept with the mapping: the next file must ask again.
_ONE_FILE = re.compile(
    r"^(?:(?:find|sample) .+: (?:context|position)|.+: days to come|missing level|easting and northing"
    r"|positions far apart|kind|worksheet)$"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapping:
    """Columns of a file and the fields they mean.

    `columns` is heading to field, `units` heading to unit, `unmapped` the headings without a field, whose cells are
    kept as they stand. `answers` are settled questions, kept with the mapping so that they are asked once.
    `confident` is true when no question is left. `fixed` are field values that the headings themselves say.
    """

    kind: str
    columns: dict[str, str]
    units: dict[str, str] = field(default_factory=dict)
    unmapped: tuple[str, ...] = ()
    confident: bool = True
    questions: tuple[Question, ...] = ()
    answers: dict[str, str] = field(default_factory=dict)
    fixed: dict[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


class _Fit(NamedTuple):
    """How well a kind fits: all needed fields there, at least a key that names the thing, points, share of columns."""

    complete: bool
    keyed: bool
    points: float
    share: float


def propose(sheet: Sheet, kind: str | None = None, answers: AnyMapping[str, str] | None = None) -> Mapping:
    """Propose which column means which field.

    Parameters
    ----------
    sheet : the file as read.
    kind : what the rows are; None finds the one kind whose fields the headings fit best.
    answers : answers to questions asked before, by what they are about.

    Returns
    -------
    Mapping. It is confident when every needed field has a heading that says it exactly and nothing is open.

    Raises
    ------
    UnknownName : there is no such kind, or an answer names no column or field.
    """
    given = dict(answers or {})
    if sheet.questions:
        return _unsure(sheet, given, sheet.questions)
    if kind is None and given.get("kind") in KINDS:
        kind = given["kind"]
    if kind is not None:
        check_answers(sheet, kind_named(kind).name, given)
        return _propose_kind(sheet, kind, given)
    ranked = sorted(((_fit(sheet, name), name) for name in KINDS), reverse=True)
    (best, name), (second, _) = ranked[0], ranked[1]
    # Where no heading names the thing itself, a kind that understands more columns may be meant though it lacks one.
    least = _LEAST_SHARE if best.keyed else max(_LEAST_SHARE, *(fit.share for fit, _ in ranked))
    if (best.complete or best.keyed) and best.share >= least and best > second:
        check_answers(sheet, name, given)
        return _propose_kind(sheet, name, given)
    fitting = tuple(name for fit, name in ranked if fit.share > 0) or tuple(KINDS)
    question = Question(about="kind", text=f"What are the rows of {sheet.filename}?", choices=fitting)
    return _unsure(sheet, given, (question,))


def _unsure(sheet: Sheet, answers: dict[str, str], questions: tuple[Question, ...]) -> Mapping:
    """No mapping yet: something about the whole file must be settled first."""
    return Mapping(kind="", columns={}, unmapped=sheet.headings, confident=False, questions=questions, answers=answers)


def to_text(mapping: Mapping) -> str:
    """A mapping as the TOML text of a mapping file, without answers that concern one number or one file only.

    Open questions stand above it as remarks, for whoever edits the file.
    """
    lines = []
    for question in mapping.questions:
        choices = f" Choices: {', '.join(question.choices)}." if question.choices else ""
        lines.append("# ? " + " ".join(f"{question.text}{choices}".split()))
    lines.append(f"kind = {_quoted(mapping.kind)}")
    if mapping.unmapped:
        lines.append(f"not_used = [{', '.join(_quoted(heading) for heading in mapping.unmapped)}]")
    kept = {about: answer for about, answer in mapping.answers.items() if not _ONE_FILE.match(about)}
    answers = dict(sorted(kept.items()))
    for title, table in (("columns", mapping.columns), ("units", mapping.units), ("answers", answers)):
        if table:
            lines += ["", f"[{title}]"]
            lines += [f"{_quoted(key)} = {_quoted(value)}" for key, value in table.items()]
    return "\n".join(lines) + "\n"


def from_text(text: str, filename: str = "mapping file") -> Mapping:
    """Read a mapping file.

    Raises
    ------
    BadInput : not TOML, an unknown key, no kind, or a unit that does not fit its field.
    UnknownName : an unknown kind, field or unit; near names are offered.
    """
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(
            f"the mapping file is not TOML ({error})",
            where=filename,
            do="Write it as shown by a dry run of the import",
        ) from None
    for key in content:
        if key not in _FILE_KEYS:
            raise UnknownName("key of a mapping file", key, list(_FILE_KEYS), where=filename)
    if "kind" not in content:
        raise BadInput("it does not say what the rows are", where=filename, do=f"Add kind = one of {', '.join(KINDS)}")
    kind = kind_named(str(content["kind"]))
    columns, units, answers = (_texts(content.get(key, {}), key, filename) for key in ("columns", "units", "answers"))
    lists = [content.get(key, []) for key in ("not_used", "not_read")]
    if not all(isinstance(listed, list) for listed in lists):
        raise BadInput("not_used is no list", where=filename, do='Write not_used = ["Heading", "Heading"]')
    for heading, name in columns.items():
        kind.field(name)
        if list(columns.values()).count(name) > 1:
            raise BadInput(
                f"two columns are mapped to {name}",
                where=f"{filename}, {heading}",
                do="Keep one and put the other under not_used",
            )
    units = {heading: _unit(heading, word, kind.fields, columns, filename) for heading, word in units.items()}
    return Mapping(
        kind=kind.name,
        columns=columns,
        units=units,
        unmapped=tuple(str(heading) for listed in lists for heading in listed),
        answers=answers,
    )


def fitted(mapping: Mapping, sheet: Sheet) -> Mapping:
    """A remembered mapping laid on a file: units of new headings found, columns it does not name listed as unmapped."""
    units = dict(mapping.units)
    for heading, name in mapping.columns.items():
        unit = split_unit(heading)[1]
        if heading not in units and unit and _fits(unit, KINDS[mapping.kind].fields[name]):
            units[heading] = unit
    unmapped = tuple(heading for heading in sheet.headings if heading not in mapping.columns)
    fixed = mapping.fixed or _fixed(mapping.kind, mapping.columns, mapping.answers)
    return replace(mapping, units=units, unmapped=unmapped, fixed=fixed)


def answered(mapping: Mapping, sheet: Sheet, answers: AnyMapping[str, str]) -> Mapping:
    """A mapping corrected by answers about its columns; a column whose field another one takes is unmapped.

    Raises
    ------
    UnknownName : an answer names no column of the file or no field of the kind.
    """
    check_answers(sheet, mapping.kind, answers)
    settled = _from_answers(sheet, mapping.kind, dict(answers))
    kept = {h: name for h, name in mapping.columns.items() if h not in settled and name not in settled.values()}
    columns = kept | {heading: name for heading, name in settled.items() if name != IGNORE}
    units = {h: unit for h, unit in mapping.units.items() if columns.get(h) == mapping.columns[h]}
    merged = {**mapping.answers, **answers}
    return fitted(replace(mapping, columns=columns, units=units, answers=merged, fixed={}), sheet)


def _propose_kind(sheet: Sheet, kind: str, answers: dict[str, str]) -> Mapping:
    """The columns that headings and answers say, with everything about them that is still open."""
    candidates = {heading: _candidates(heading, kind) for heading in sheet.headings}
    by_answer = _from_answers(sheet, kind, answers)
    columns = _columns(candidates, by_answer)
    open_columns = {heading: names for heading, names in candidates.items() if heading not in by_answer}
    questions = _open_columns(sheet, kind, columns, open_columns)
    asked = {question.about for question in questions}
    questions += _by_cells(sheet, kind, columns, [h for h in open_columns if f"column {h}" not in asked])
    asked_for = {name for question in questions for name in question.choices}
    questions += _lacking(sheet, kind, columns, asked_for, answers)
    ordered = {heading: columns[heading] for heading in sheet.headings if heading in columns}
    units = {}
    for heading, name in ordered.items():
        unit = split_unit(heading)[1]
        if unit and _fits(unit, KINDS[kind].fields[name]):
            units[heading] = unit
    return Mapping(
        kind=kind,
        columns=ordered,
        units=units,
        unmapped=tuple(heading for heading in sheet.headings if heading not in ordered),
        confident=not questions,
        questions=tuple(questions),
        answers=answers,
        fixed=_fixed(kind, ordered, answers),
    )


def _columns(candidates: dict[str, tuple[str, ...]], by_answer: dict[str, str]) -> dict[str, str]:
    """Answers first, then exact headings, then loose ones that still have a free field."""
    columns = {heading: name for heading, name in by_answer.items() if name != IGNORE}
    for several in (False, True):
        for heading, names in candidates.items():
            if heading in by_answer or heading in columns or (len(names) > 1) != several:
                continue
            free = [name for name in names if name not in columns.values()]
            if free:
                columns[heading] = free[0]
    return columns


def _open_columns(
    sheet: Sheet, kind: str, columns: dict[str, str], candidates: dict[str, tuple[str, ...]]
) -> list[Question]:
    """Headings without a column that say a field which another one has, or nearly say a free one."""
    questions = []
    fields = KINDS[kind].fields
    for heading in sheet.headings:
        if heading in columns or heading not in candidates:
            continue
        names = candidates[heading]
        if names:
            other = next(h for h, name in columns.items() if name == names[0])
            text = f"Columns {other!r} and {heading!r} both seem to be {fields[names[0]].label!r}. What is {heading!r}?"
            questions.append(Question(about=f"column {heading}", text=text, choices=(IGNORE, *_free(kind, columns))))
            continue
        near = [name for name in _near(heading, kind) if name not in columns.values()]
        if near:
            text = f"Is column {heading!r} the field {fields[near[0]].label!r}?"
            questions.append(Question(about=f"column {heading}", text=text, choices=(*near, IGNORE)))
    return questions


def _by_cells(sheet: Sheet, kind: str, columns: dict[str, str], headings: list[str]) -> list[Question]:
    """Columns without a field, or of free text, whose cells are all words of a list of choices: asked, never taken."""
    free = choice_fields(kind, columns.values())
    questions: list[Question] = []
    if not free:
        return questions
    fields = KINDS[kind].fields
    for heading in headings:
        name = columns.get(heading)
        if name is not None and (
            fields[name].type not in ("text", "phone") or fields[name].required or fields[name].refers_to
        ):
            continue
        cells = sheet.column(heading)
        found = fields_by_cells(cells, kind, free)
        if not found or (name is not None and not mostly_filled(cells)):
            continue
        said = " or ".join(repr(fields[choice].label) for choice in found)
        text = f"Column {heading!r} holds only words of {said} ({shown_words(cells)}). Which field is it?"
        questions.append(Question(about=f"column {heading}", text=text, choices=(*found, name or IGNORE)))
    return questions


def _lacking(
    sheet: Sheet, kind: str, columns: dict[str, str], asked_for: set[str], answers: dict[str, str]
) -> list[Question]:
    """A question for each needed field that no heading says and no other question offers."""
    known = set(columns.values()) | set(_fixed(kind, columns, answers)) | asked_for
    if "size" in known:
        known |= set(SIZE_PARTS[kind])
    if kind == "find" and {"context", "material"} <= set(columns.values()):
        # Bulk finds are often listed by context and material alone; the intake asks when it has seen the rows.
        known.add("number")
    free = [heading for heading in sheet.headings if heading not in columns]
    questions = []
    for name, spec in KINDS[kind].fields.items():
        if not spec.required or name in known:
            continue
        free_headings = tuple(sorted(free, key=lambda heading: -_likeness(heading, spec)))
        text, choices = f"Which column is {spec.label!r}?", free_headings
        if name == "kind" and spec.choices:
            text = f"No column says {spec.label.lower()}. Which are all rows, or which column says it?"
            choices = (*spec.choices, *free_headings)
        if choices:
            # Where no column is left to choose, the intake says which rows lack the field.
            questions.append(Question(about=f"field {name}", text=text, choices=choices))
    return questions


def _from_answers(sheet: Sheet, kind: str, answers: dict[str, str]) -> dict[str, str]:
    """Columns settled by answers: 'column Wgt' = 'mass_kg' or 'not read', 'field context' = a heading."""
    settled = {}
    fields = KINDS[kind].fields
    for about, answer in answers.items():
        what, _, which = about.partition(" ")
        if what == "column" and which in sheet.headings and (answer in _IGNORE_WORDS or answer in fields):
            settled[which] = IGNORE if answer in _IGNORE_WORDS else answer
        elif what == "field" and which in fields and answer in sheet.headings:
            settled[answer] = which
    return settled


def check_answers(sheet: Sheet, kind: str, answers: AnyMapping[str, str]) -> None:
    """Raise UnknownName for an answer about a column that the file has not or a field that the kind has not."""
    fields = KINDS[kind].fields
    for about, answer in answers.items():
        what, _, which = about.partition(" ")
        if what == "column" and ":" not in which:
            if which not in sheet.headings:
                raise UnknownName("column", which, list(sheet.headings), where=f"answer {about!r}")
            if answer not in (*_IGNORE_WORDS, *fields):
                raise UnknownName(f"field of {KINDS[kind].label}", answer, [*fields, IGNORE], where=f"answer {about!r}")
        elif what == "field" and ":" not in which:
            if which not in fields:
                raise UnknownName(f"field of {KINDS[kind].label}", which, list(fields), where=f"answer {about!r}")
            choices = [*sheet.headings, *(fields[which].choices if which == "kind" else ())]
            if answer not in choices:
                raise UnknownName("column", answer, choices, where=f"answer {about!r}")


def _candidates(heading: str, kind: str) -> tuple[str, ...]:
    """Fields a heading may mean by its exact words, those of its unit first; none when it says no field."""
    words = heading_words(kind)
    fields = KINDS[kind].fields
    bare, unit = split_unit(heading)
    without_remark = re.sub(r"\s*[(\[][^()\[\]]*[)\]]\s*$", "", bare)
    names = words.get(plain(heading), ()) or words.get(plain(bare), ()) or words.get(plain(without_remark), ())
    if not unit:
        return names
    return tuple(name for name in names if _fits(unit, fields[name])) or (names if plain(heading) in words else ())


def _near(heading: str, kind: str) -> list[str]:
    """Fields whose headings look like this one, at most three."""
    words = heading_words(kind)
    bare = plain(split_unit(heading)[0])
    if len(bare) < 4:
        return []
    close = get_close_matches(bare, [word for word in words if len(word) > 3], n=5, cutoff=_NEAR)
    return list(dict.fromkeys(name for word in close for name in words[word]))[:3]


def _likeness(heading: str, spec: Field) -> float:
    """How much a heading looks like the headings of a field, 0 to 1, for the order in which columns are offered."""
    bare = plain(split_unit(heading)[0])
    words = {plain(word) for word in (spec.name, spec.label, *spec.synonyms)}
    return max((SequenceMatcher(None, bare, word).ratio() for word in words), default=0.0)


def _fit(sheet: Sheet, kind: str) -> _Fit:
    """How well a kind fits the headings."""
    columns = _columns({heading: _candidates(heading, kind) for heading in sheet.headings}, {})
    fields = KINDS[kind].fields
    known = set(columns.values()) | set(_fixed(kind, columns, {}))
    if "size" in known:
        known |= set(SIZE_PARTS[kind])
    # A find may leave its kind to a question; everything else needed must have a column.
    complete = all(not f.required or name in known or (kind, name) == ("find", "kind") for name, f in fields.items())
    own = any(name in KINDS[kind].key and _says_thing(heading) for heading, name in columns.items())
    # A file that only adds to known things needs no more than their numbers or names.
    keyed = own and all(name in known for name in KINDS[kind].key if fields[name].required)
    words = plain(f"{sheet.filename} {sheet.worksheet}").split()
    named = kind in words or KINDS[kind].label in words
    share = len(columns) / max(1, len(sheet.headings))
    return _Fit(complete, keyed, share + 0.5 * own + 0.25 * named, share)


def _says_thing(heading: str) -> bool:
    """True when a key heading names the thing itself, not just 'No.' or 'Name'."""
    general = {"no", "nr", "id", "number", "numéro", "numero", "num", "name", "nom", "type", "from", "from to"}
    return plain(split_unit(heading)[0]) not in general


def _free(kind: str, columns: dict[str, str]) -> tuple[str, ...]:
    return tuple(name for name in KINDS[kind].fields if name not in columns.values())


def _fixed(kind: str, columns: dict[str, str], answers: dict[str, str]) -> dict[str, str]:
    """Values for all rows: by answer, or said by the heading: a column of small-find numbers holds registered finds."""
    if kind != "find" or "kind" in columns.values():
        return {}
    answer = answers.get("field kind", "")
    if answer in KINDS["find"].fields["kind"].choices:
        return {"kind": answer}
    number = next((heading for heading, name in columns.items() if name == "number"), "")
    return {"kind": "registered"} if _REGISTERED_WORDS.match(plain(number)) else {}


def _fits(unit: str, spec: Field) -> bool:
    return bool(spec.unit) and measure(unit) == measure(spec.unit)


def _unit(heading: str, word: str, fields: dict[str, Field], columns: dict[str, str], filename: str) -> str:
    """A unit of the mapping file, checked against its column."""
    if heading not in columns:
        raise UnknownName("mapped column", heading, list(columns), where=f"{filename}, [units]")
    unit = UNIT_WORDS.get(word.strip().lower(), "")
    spec = fields[columns[heading]]
    if not unit:
        raise UnknownName("unit", word, sorted(set(UNIT_WORDS.values())), where=f"{filename}, {heading}")
    if not _fits(unit, spec):
        raise BadInput(
            f"the unit {unit} does not fit {spec.name}",
            where=f"{filename}, {heading}",
            limit=f"a unit of {measure(spec.unit)}" if spec.unit else "no unit",
            do="Correct the unit or the field",
        )
    return unit


def _texts(table: Any, key: str, filename: str) -> dict[str, str]:
    if not isinstance(table, dict) or not all(isinstance(value, str) for value in table.values()):
        raise BadInput(
            f"[{key}] is not a table of texts", where=filename, do=f'Write [{key}] and lines such as "A" = "b"'
        )
    return dict(table)


def _quoted(text: str) -> str:
    """A TOML basic string; JSON's escapes are a subset of TOML's, save for the slash and surrogates we do not write."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
