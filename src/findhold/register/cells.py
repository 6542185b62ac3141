"""Cells that are not quantities, a column at once: numbers on the site, names, choices, lists, flags and dates."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from findhold.dates.forms import FORMS_ALLOWED, ORDERS, read_dates
from findhold.dates.instants import in_zone, zone_named
from findhold.dates.people import phone_read
from findhold.errors import BadInput, Question, near_names
from findhold.register.kinds import Field, choice_words
from findhold.register.numbers import ColumnFacts, Reading, read_numbers

BLANK_WORDS = frozenset({"-", "–", "—", "--", "n/a", "#n/a", "k.a.", "null"})
_SHEET_ERRORS = frozenset({"#ref!", "#value!", "#name?", "#div/0!", "#num!", "#null!", "#n/a", "#####"})
# Marks round a number differ between units and are clues to nothing: they are taken off, no type is inferred.
_MARKS = "()[]{}<>⟨⟩〈〉△▲▵◇◆◊○□∆Δ#'\"‘’“” \u00a0"
_NUMBER_WORD = re.compile(r"^(?:no|nr|n°|nº|num|number)\b\.?\s*(?=\d)", re.IGNORECASE)
_LIST_SPLIT = re.compile(r"\s*(?:[;,+&\n]|/|\band\b|\bund\b|\bet\b)\s*")
_EARLIEST, _LATEST = time(0, 0), time(23, 59)


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """A list of names that a column must keep to, and the rule by which one is recognised under its other names."""

    label: str
    known: tuple[str, ...]
    recognises: Callable[[str], bool]


def read_column(cells: Sequence[Any], spec: Field, facts: ColumnFacts, zone: str | None) -> Reading:
    """Read one column by the type of its field.

    Parameters
    ----------
    cells : texts as typed or typed cells of a workbook; '' is empty.
    spec : the field.
    facts : heading, unit of the heading and answers.
    zone : the site's time zone for times without offset; None when it is not known.

    Returns
    -------
    Reading, with every mistake of the column by index.
    """
    cells, blanks, broken = _without_blanks(cells, spec)
    if spec.type in {"number", "integer", "mass_kg", "length_mm", "metres"}:
        reading = read_numbers(cells, spec, facts)
    elif spec.type in {"date", "instant"}:
        reading = _dates(cells, spec, facts, zone)
    elif spec.type == "choice":
        reading = _choices(cells, spec, facts)
    elif spec.type == "flag":
        reading = _flags(cells)
    elif spec.type == "list":
        reading = _each(cells, lambda cell: split_list(_text(cell)))
    elif spec.type == "phone":
        reading = _each(cells, lambda cell: phone_read(_text(cell)))
    elif spec.identifies:
        reading = _each(cells, identifier)
    else:
        reading = _each(cells, _text)
    reading.bad.update(broken)
    if blanks:
        words = ", ".join(repr(word) for word in sorted(blanks))
        reading.notes.append(f"{facts.heading}: {sum(blanks.values())} cells with {words} were read as empty")
    return reading


def identifier(cell: Any) -> str:
    """A number on the site as text, without brackets, symbols and blanks: '[214]' is '214', 37.0 is '37'.

    Raises
    ------
    BadInput : a date (spreadsheet programs make one of 1-2), a fraction, or digits lost to 1.2E+05.
    """
    if isinstance(cell, bool):
        raise BadInput("is yes or no, not a number", do="a number as text")
    if isinstance(cell, datetime | date | time):
        raise BadInput(
            "is a date: the spreadsheet program took the number for one", do="the number as text, such as '1-2"
        )
    if isinstance(cell, float):
        cell = str(int(cell)) if cell == int(cell) else repr(cell)
    text = _NUMBER_WORD.sub("", str(cell).strip(_MARKS)).strip(_MARKS)
    text = " ".join(text.split())
    if not text:
        raise BadInput("has no number in it", do="a number, with or without brackets")
    if re.fullmatch(r"\d+\.0+", text):
        return text.partition(".")[0]
    if re.fullmatch(r"\d[.,]\d+[eE][+-]?\d+", text):
        raise BadInput("has lost its last digits to the spreadsheet program", do="the whole number as text")
    if re.fullmatch(r"\d{1,3}(?:,\d{3})+", text):
        raise BadInput("has a comma in it", do=f"the number without thousands marks: {text.replace(',', '')}")
    return text


def split_list(text: str) -> tuple[str, ...]:
    """The parts of a list typed with ; , / + & or line breaks, each once, in order."""
    parts = (part.strip() for part in _LIST_SPLIT.split(text))
    return tuple(dict.fromkeys(part for part in parts if part))


def settle_words(values: Sequence[Any], names: Names, word_list: str, facts: ColumnFacts) -> Reading:
    """Check free words against a list of names; a word that fits none is one question for the column.

    Words that the list recognises stay as typed, because every later step recognises them too.

    Parameters
    ----------
    values : words, or tuples of words, or None.
    names : the names and how they are recognised.
    word_list : further words, also of other languages, that people use for these names (choice_words.csv).
    facts : heading and answers.
    """
    reading = Reading(values=list(values))
    counted: Counter[str] = Counter()
    for value in values:
        counted.update(value if isinstance(value, tuple) else () if value is None else (value,))
    further = choice_words(word_list)
    settled = {word: _settle(word, count, names, further, facts, reading) for word, count in counted.items()}
    for index, value in enumerate(values):
        if isinstance(value, tuple):
            reading.values[index] = tuple(dict.fromkeys(settled[word] for word in value))
        elif value is not None:
            reading.values[index] = settled[value]
    return reading


def _settle(
    word: str, count: int, names: Names, further: dict[str, tuple[str, ...]], facts: ColumnFacts, reading: Reading
) -> str:
    """One word as it is kept: as typed, translated with a note, or as answered; else a question is put down."""
    if names.recognises(word):
        return word
    about = f"{facts.heading}: {word}"
    answer = facts.answers.get(about, "").strip()
    if answer and names.recognises(answer):
        reading.answered.add(about)
        return answer
    rows = "1 row" if count == 1 else f"{count} rows"
    meant = [name for name in further.get(word.lower(), ()) if names.recognises(name)]
    if len(meant) == 1:
        reading.notes.append(f"{facts.heading}: {word!r} was read as {meant[0]!r} in {rows}")
        return meant[0]
    choices = tuple(meant or near_names(word, list(names.known)) or names.known)
    text = f"{word!r} in column {facts.heading!r} ({rows}) is not in the list of {names.label}. Which one is it?"
    reading.questions.append(Question(about=about, text=text, choices=choices))
    return word


def _without_blanks(cells: Sequence[Any], spec: Field) -> tuple[list[Any], Counter[str], dict[int, tuple[str, str]]]:
    """Cells with dashes and the like made empty, those words counted, and broken spreadsheet formulas."""
    blanks: Counter[str] = Counter()
    broken: dict[int, tuple[str, str]] = {}
    free = spec.type == "text" and not spec.identifies and not spec.required
    result = list(cells)
    met = {cell for cell in set(cells) if isinstance(cell, str) and cell.lower() in _SHEET_ERRORS | BLANK_WORDS}
    for index, cell in enumerate(result if met else ()):
        if cell not in met:
            continue
        word = cell.lower()
        if word in _SHEET_ERRORS and word != "#n/a":
            broken[index] = ("is an error of the spreadsheet program", "a value; mend the formula in the spreadsheet")
            result[index] = ""
        elif not free and word in BLANK_WORDS:
            blanks[cell] += 1
            result[index] = ""
    return result, blanks, broken


def _each(cells: Sequence[Any], read: Callable[[Any], Any]) -> Reading:
    """Read every cell by itself, each different one once."""
    reading = Reading(values=[None] * len(cells))
    known: dict[Any, Any] = {}
    for index, cell in enumerate(cells):
        if cell == "":
            continue
        key = (type(cell), cell)
        if key not in known:
            try:
                known[key] = read(cell)
            except BadInput as error:
                known[key] = error
        if isinstance(known[key], BadInput):
            reading.bad[index] = (known[key].wrong, known[key].do)
        else:
            reading.values[index] = known[key]
    return reading


def _text(cell: Any) -> str:
    """A cell as text with single blanks; numbers of a workbook without a needless .0."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime | date | time):
        raise BadInput("is a date: the spreadsheet program took the text for one", do="the words as text")
    if isinstance(cell, float):
        return str(int(cell)) if cell == int(cell) else repr(cell)
    return " ".join(str(cell).split())


def _flags(cells: Sequence[Any]) -> Reading:
    words = choice_words("flag")

    def read(cell: Any) -> bool:
        if isinstance(cell, bool):
            return cell
        meant = words.get(_text(cell).lower())
        if meant is None:
            raise BadInput("is neither yes nor no", do="yes or no (also y, n, x, ja, nein, oui, non), or empty")
        return meant == ("yes",)

    return _each(cells, read)


def _choices(cells: Sequence[Any], spec: Field, facts: ColumnFacts) -> Reading:
    """Choices by their own name or a trade word; a word with two meanings is one question for the column."""
    words = choice_words(spec.word_list)
    open_words: dict[str, tuple[str, ...]] = {}
    answered: set[str] = set()

    def read(cell: Any) -> str | None:
        text = _text(cell)
        if text.lower() in spec.choices:
            return text.lower()
        meant = words.get(text.lower(), ())
        if len(meant) == 1:
            return meant[0]
        about = f"{facts.heading}: {text}"
        answer = facts.answers.get(about, "").strip().lower()
        if answer in spec.choices:
            answered.add(about)
            return answer
        if meant:
            open_words[text] = meant
            return None
        near = near_names(text, [*spec.choices, *words])
        meant_near = list(dict.fromkeys(choice for word in near for choice in words.get(word, (word,))))
        hint = f" (did you mean {' or '.join(meant_near)}?)" if meant_near else ""
        raise BadInput(f"is not one of the choices{hint}", do=", ".join(spec.choices))

    reading = _each(cells, read)
    reading.answered |= answered
    for text, meant in open_words.items():
        question = f"{text!r} in column {facts.heading!r} can be {' or '.join(meant)}. Which one is it?"
        reading.questions.append(Question(about=f"{facts.heading}: {text}", text=question, choices=meant))
    return reading


def _dates(cells: Sequence[Any], spec: Field, facts: ColumnFacts, zone: str | None) -> Reading:
    """Dates or instants of a column; typed cells of a workbook are taken as they are."""
    texts = [cell if isinstance(cell, str) else "" for cell in cells]
    about = f"{facts.heading}: order"
    reading = Reading(values=[])
    zone_about = f"{facts.heading}: zone"
    if zone is None and zone_about in facts.answers:
        zone = facts.answers[zone_about]
        reading.answered.add(zone_about)
    # Without a zone the forms are still checked, so that all mistakes are told at once; no instant leaves here.
    column = read_dates(texts, zone or "UTC")
    order = facts.answers.get(about)
    if column.question is not None and order in ORDERS:
        column = read_dates(texts, zone or "UTC", order=order)
        reading.answered.add(about)
    reading.values = list(column.values)
    reading.bad = {index: (_date_wrong(told, texts[index]), FORMS_ALLOWED) for index, told in column.bad.items()}
    reading.notes.extend(f"{facts.heading}: {note}" for note in column.notes)
    if column.question is not None:
        text = f"Column {facts.heading!r}: {column.question}"
        reading.questions.append(Question(about=about, text=text, choices=column.choices))
    for index, cell in enumerate(cells):
        if not isinstance(cell, str):
            _typed_date(index, cell, reading)
    if spec.type == "date":
        reading.values = [value.date() if isinstance(value, datetime) else value for value in reading.values]
    elif zone is not None:
        _make_instants(reading, spec, facts, zone)
    elif any(cell != "" for cell in cells):
        text = f"Times in column {facts.heading!r} have no time zone and the site has none. Which zone is it?"
        reading.questions.append(Question(about=zone_about, text=text))
        reading.values = [None] * len(cells)
    return reading


def _date_wrong(told: str, text: str) -> str:
    """What is wrong with a date, without the cell and the allowed forms, which a mistake has in their own places."""
    told = told.removesuffix(f" Write it like one of these: {FORMS_ALLOWED}.").removeprefix(repr(text.strip()))
    return told.strip(":. ")


def _typed_date(index: int, cell: Any, reading: Reading) -> None:
    """A date of a workbook; midnight is a day without a time, as spreadsheet programs store days."""
    if isinstance(cell, datetime):
        reading.values[index] = cell.date() if cell.time() == time(0) else cell
    elif isinstance(cell, date):
        reading.values[index] = cell
    else:
        reading.bad[index] = ("is a number or a time, not a date", FORMS_ALLOWED)


def _make_instants(reading: Reading, spec: Field, facts: ColumnFacts, zone: str) -> None:
    """Give every value a time and an offset; a day without a time takes the edge that never flatters the wait."""
    rules = zone_named(zone)
    edge = _LATEST if spec.name == "open_at" else _EARLIEST
    for index, value in enumerate(reading.values):
        if value is None:
            continue
        if not isinstance(value, datetime):
            value = datetime.combine(value, edge)
            reading.day_only.add(index)
        if value.tzinfo is None:
            try:
                value = in_zone(value.replace(microsecond=0), rules)
            except BadInput as error:
                reading.values[index] = None
                reading.bad[index] = (error.wrong, error.do)
                continue
        reading.values[index] = value
    if reading.day_only:
        why = "latest" if edge == _LATEST else "earliest"
        days = "1 day" if len(reading.day_only) == 1 else f"{len(reading.day_only)} days"
        reading.notes.append(f"{facts.heading}: {days} without a time taken as {edge:%H:%M}, the {why} it can be")
