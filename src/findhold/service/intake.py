"""Import a file into the register: mapping proposed, asked once and kept; all or nothing is recorded."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping as AnyMapping
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from findhold.errors import BadInput, Mistake, Mistakes, Question
from findhold.record.events import UNIT, NewEvent, stream_of
from findhold.register.compare import Change, Row
from findhold.register.intake import Intake, Known, intake
from findhold.register.kinds import KINDS
from findhold.register.mapping import Mapping, answered, fitted, from_text, propose, to_text
from findhold.register.readfile import Sheet, read_sheet
from findhold.register.rules import SiteFacts
from findhold.service.office import Office
from findhold.service.storytelling import FILLED_IN
from findhold.service.wire import plain
from findhold.store.ledger import Thing, Writing
from findhold.tables.contact import analysis_names
from findhold.tables.materials import find_material_names

SITE_KINDS = ("context", "find", "sample")
"""Kinds that belong to one site; the others belong to the whole unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportRequest:
    """A file to read: what its rows are (None: told from the headings), how its headings are read, and the answers."""

    file: Path
    kind: str | None = None
    site: str | None = None
    worksheet: str | None = None
    mapping: str | None = None
    """Text of a mapping file; None takes the one kept for these headings, or proposes one."""
    answers: AnyMapping[str, str] = field(default_factory=dict)
    dry_run: bool = False
    correct: bool = False
    """True records values that differ from the ledger as corrections; filling what was empty needs no such word."""
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """How a file would be read, before anything is read into the ledger."""

    sheet: Sheet
    mapping: Mapping
    text: str
    remembered: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """What an import did (or would do, on a dry run)."""

    file: str
    kind: str
    columns: dict[str, str]
    units: dict[str, str]
    not_used: tuple[str, ...]
    """Headings without a field; their cells are kept with each row as they stand."""
    remembered: bool
    new: int
    filled: tuple[Change, ...]
    """Values where the ledger had none."""
    changed: tuple[Change, ...]
    """Values that differ from the recorded ones, so corrections."""
    unchanged: int
    empty_rows: int
    notes: tuple[str, ...]
    recorded: bool
    dry_run: bool


def propose_import(office: Office, request: ImportRequest) -> Proposal:
    """Read the file's headings and say how they would be read: the given mapping, the kept one, or a new proposal."""
    sheet = _sheet(request)
    kept = office.ledger.state(_mapping_stream(sheet))
    if request.mapping is not None:
        mapping, remembered = answered(from_text(request.mapping, "mapping file"), sheet, request.answers), False
    elif kept is not None and request.kind in (None, kept.facts["kind"]):
        mapping = from_text(kept.facts["text"], "the mapping kept for these headings")
        mapping, remembered = answered(mapping, sheet, request.answers), True
    else:
        mapping, remembered = propose(sheet, request.kind, request.answers), False
    return Proposal(sheet=sheet, mapping=mapping, text=to_text(mapping), remembered=remembered)


def import_file(office: Office, request: ImportRequest, proposal: Proposal | None = None) -> Imported:
    """Read a file into the register.

    Raises
    ------
    Mistakes : every mistake and question of the file at once; nothing was recorded.
    BadInput : the file cannot be read, or is of no known form.
    """
    proposal = proposal or propose_import(office, request)
    mapping, sheet = proposal.mapping, proposal.sheet
    if mapping.questions and not mapping.kind:
        raise _open_points([], mapping.questions, request.file.name)
    site = office.site(request.site) if mapping.kind in SITE_KINDS else _any_site(office, request.site)
    stamp = office.stamp()
    with office.ledger.writing(stamp) as writing:
        taken = intake(
            sheet,
            mapping,
            site=_site_facts(site),
            known=Known(things=_known(writing.states, site), analyses=analysis_names(), now=stamp.now),
            answers=request.answers,
            known_materials=find_material_names(),
        )
        _refuse_open(taken, request)
        events = _events(taken, request, _kept_mapping(proposal, request, taken, writing), site)
        if events and not request.dry_run:
            writing.append(events)
    return _told(request, proposal, taken, recorded=bool(events) and not request.dry_run)


def _told(request: ImportRequest, proposal: Proposal, taken: Intake, *, recorded: bool) -> Imported:
    """What an import did, with a note for each answer that answered nothing."""
    mapping = proposal.mapping
    unused = [about for about in request.answers if about in taken.unused_answers]
    return Imported(
        file=str(request.file),
        kind=taken.kind,
        columns=dict(mapping.columns),
        units=dict(mapping.units),
        not_used=tuple(mapping.unmapped),
        remembered=proposal.remembered,
        new=len(taken.new),
        filled=taken.filled,
        changed=taken.changed,
        unchanged=taken.unchanged,
        empty_rows=proposal.sheet.empty_rows,
        notes=(*taken.notes, *(f"the answer about {about!r} answers no question of this file" for about in unused)),
        recorded=recorded and bool(taken.new or taken.filled or taken.changed),
        dry_run=request.dry_run,
    )


def _kept_mapping(proposal: Proposal, request: ImportRequest, taken: Intake, writing: Writing) -> list[NewEvent]:
    """The event that keeps the mapping with its answers, when it is not the one kept already."""
    used = {about: a for about, a in request.answers.items() if about not in taken.unused_answers}
    mapping = fitted(proposal.mapping, proposal.sheet)
    given = {about: a for about, a in mapping.answers.items() if about not in request.answers}
    text = to_text(replace(mapping, answers={**given, **used}, questions=()))
    stream = _mapping_stream(proposal.sheet)
    kept = writing.state(stream)
    if kept is not None and kept.facts["text"] == text:
        return []
    body = {"kind": mapping.kind, "text": text, "headings": list(proposal.sheet.headings)}
    return [NewEvent(word="mapping.kept.1", stream=stream, body=body)]


def _sheet(request: ImportRequest) -> Sheet:
    try:
        data = request.file.read_bytes()
    except OSError as error:
        wrong = f"the file cannot be read ({error.strerror})"
        raise BadInput(wrong, where=str(request.file), do="Check the path and the permissions") from error
    sheet = read_sheet(data, request.file.name, request.worksheet or request.answers.get("worksheet"))
    if not sheet.rows:
        heads = ", ".join(str(head) for head in sheet.headings)
        do = "Give the file that holds the rows, or the worksheet with --answer worksheet=NAME"
        raise BadInput("there is no row below its headings", where=request.file.name, limit=heads, do=do)
    return sheet


def _any_site(office: Office, code: str | None) -> Thing:
    """The site for things of the whole unit: the one named, or the first; only its zone and grid are used."""
    return office.site(code) if code else office.ledger.states("site")[0]


def _known(states: Any, site: Thing) -> dict[str, dict[str, dict[str, Any]]]:
    found: dict[str, dict[str, dict[str, Any]]] = {}
    for kind in KINDS:
        where = site.number if kind in SITE_KINDS else UNIT
        found[kind] = {thing.number: _typed(kind, thing.facts) for thing in states(kind, where)}
    return found


def _typed(kind: str, facts: dict[str, Any]) -> dict[str, Any]:
    """Facts as the register has them: instants and days as such, not as the text the ledger keeps."""
    typed = dict(facts)
    for name, spec in KINDS[kind].fields.items():
        value = typed.get(name)
        if value is not None and spec.type == "instant":
            typed[name] = datetime.fromisoformat(value)
        elif value is not None and spec.type == "date":
            typed[name] = date.fromisoformat(value)
        elif isinstance(value, list):
            typed[name] = tuple(value)
    return typed


def _site_facts(site: Thing) -> SiteFacts:
    facts = site.facts
    return SiteFacts(code=facts["code"], zone=facts["zone"], grid=facts["grid"], vertical_datum=facts["vertical_datum"])


def _refuse_open(taken: Intake, request: ImportRequest) -> None:
    """Stop before anything is written while a mistake, a question or an unconfirmed change stands."""
    mistakes = list(taken.mistakes)
    if not request.correct:
        mistakes += [_differs(change, request.file.name) for change in taken.changed]
    elif taken.changed and not request.reason.strip():
        raise BadInput(
            "a correction needs a reason", where="--reason", do='Say why, for example --reason "weighed again"'
        )
    if mistakes or taken.questions:
        raise _open_points(mistakes, taken.questions, request.file.name)


def _open_points(mistakes: list[Mistake], questions: Sequence[Question], filename: str) -> Mistakes:
    """Everything that stands against an import, with what to do about it."""
    error = Mistakes(mistakes=mistakes, questions=list(questions), answerable=True)
    error.where = filename
    if questions:
        mend = "Mend the lines listed, answer" if mistakes else "Answer"
        one = (
            "the question with the option below it" if len(questions) == 1 else "each question with an option below it"
        )
        error.do = f"{mend} {one}, and run the same command again"
    return error


def _differs(change: Change, filename: str) -> Mistake:
    old, new = change.words()
    return Mistake(
        file=filename,
        row=change.row,
        column=change.heading,
        value=new,
        wrong=f"differs from the ledger, which has {old!r} for {change.kind} {change.key}",
        allowed="the same value, or --correct with a --reason to record a correction",
    )


def _events(taken: Intake, request: ImportRequest, mapping: list[NewEvent], site: Thing) -> list[NewEvent]:
    """The mapping when it is another one; the file and its rows when they bring something."""
    if not (taken.new or taken.filled or taken.changed):
        return mapping
    owner = site.number if taken.kind in SITE_KINDS else UNIT
    data = request.file.read_bytes()
    checksum = hashlib.sha256(data).hexdigest()
    file_body = {
        "file": request.file.name,
        "sha256": checksum,
        "kind": taken.kind,
        "new": len(taken.new),
        "changed": len(taken.changed) + len(taken.filled),
        "filled": len(taken.filled),
        "unchanged": taken.unchanged,
    }
    filled_in = f"{FILLED_IN}{request.file.name}"
    return [
        *mapping,
        NewEvent(word="file.imported.1", stream=stream_of("file", owner, checksum[:16]), body=file_body),
        *(_entered(row, owner, checksum) for row in taken.new),
        *_corrections(taken.filled, owner, filled_in, checksum),
        *_corrections(taken.changed, owner, request.reason, checksum),
    ]


def _entered(row: Row, owner: str, checksum: str) -> NewEvent:
    body = {key: value for key, value in plain(row.fields).items() if value is not None}
    body["from_file"] = checksum[:16]
    return NewEvent(word="thing.entered.1", stream=stream_of(row.kind, owner, row.key), body=body)


def _corrections(changes: tuple[Change, ...], owner: str, reason: str, checksum: str) -> list[NewEvent]:
    by_key: dict[tuple[str, str], dict[str, Any]] = {}
    for change in changes:
        by_key.setdefault((change.kind, change.key), {})[change.field] = plain(change.new)
    return [
        NewEvent(
            word="thing.corrected.1",
            stream=stream_of(kind, owner, key),
            body={"fields": values, "reason": reason, "from_file": checksum[:16]},
        )
        for (kind, key), values in by_key.items()
    ]


def _mapping_stream(sheet: Sheet) -> str:
    """One mapping is kept per set of headings, whatever the file is called."""
    headings = "\x1f".join(heading.strip().casefold() for heading in sheet.headings)
    return stream_of("mapping", UNIT, hashlib.sha256(headings.encode()).hexdigest()[:16])
