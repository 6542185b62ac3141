"""What happened to a store: its logger's file or a failure typed by hand, recorded with every box forecast again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from findhold.check.excursions import Excursions, find_excursions, spell_figure, spell_rules
from findhold.check.logger import LoggerSeries, read_logger
from findhold.dates.instants import for_people
from findhold.errors import BadInput, Mistakes, Question, UnknownName
from findhold.keep.inputs import Policy
from findhold.record.events import UNIT, NewEvent
from findhold.service.choices import read_choices
from findhold.service.holds import Progress
from findhold.service.office import Office
from findhold.service.store_boxes import Aftermath, Ensemble, aftermath, record_aftermath
from findhold.service.store_record import (
    OVERLAPS,
    StoreRecord,
    disagreement,
    drift_hours,
    packed,
    record_of,
    thin,
    unpacked,
)
from findhold.service.store_words import failure_words, spell_lines
from findhold.service.wire import plain
from findhold.store.filebox import checksum, keep_file
from findhold.store.ledger import Thing

LONGEST_FAILURE = timedelta(days=400)
ROOM_C = (-30.0, 50.0)
"""Room temperatures that can be typed [degC]; the forecast's own limits are wider."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRequest:
    """A logger's file for a store.

    `answers` settle questions: dates, faults, overlap, or which heading is the temperature or the humidity.
    """

    file: Path
    store: str
    zone: str | None = None
    answers: Mapping[str, str] = field(default_factory=dict)
    dry_run: bool = False
    ensemble: Ensemble = field(default_factory=Ensemble)


@dataclass(frozen=True, slots=True, kw_only=True)
class FailureRequest:
    """A failure typed by hand; `ends` is None while the store is still off."""

    store: str
    begins: datetime
    ends: datetime | None
    room_c: float
    dry_run: bool = False
    ensemble: Ensemble = field(default_factory=Ensemble)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeBack:
    """Readings (by their file) or a failure (by its beginning) that were recorded for the wrong store or time."""

    store: str
    reason: str
    file: Path | None = None
    begins: datetime | None = None
    ensemble: Ensemble = field(default_factory=Ensemble)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogTold:
    """What a logger's file says of its store. `hours_new` are the hours of which nothing was recorded before."""

    file: str
    sha256: str
    readings: int
    first: datetime
    last: datetime
    warm_c: float
    excursions: Excursions | None
    """None when the logger measured no temperature."""
    hours_new: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreTold:
    """What happened to a store, and what that means for each box in it, worst first."""

    store: str
    zone: str
    log: LogTold | None
    failure: dict[str, Any] | None
    taken_back: str | None
    recorded: bool
    known_before: bool
    """True when just this was recorded already, so that nothing changed."""
    dry_run: bool
    after: Aftermath
    notes: tuple[str, ...]


def record_log(office: Office, request: LogRequest, progress: Progress | None = None) -> StoreTold:
    """Read a store's logger, record its readings, and forecast every box of the store again.

    The same file twice changes nothing; files that overlap are merged hour by hour. All is recorded, or nothing.

    Raises
    ------
    BadInput : the file cannot be read or trusted, or it is recorded for another store.
    Mistakes : questions that only a person can settle.
    UnknownName : no such store.
    """
    thing = find_store(office, request.store)
    opened = _opened(office, thing, request)
    bodies = log_bodies(office, thing)
    before = record_of(thing.facts, bodies)
    body = {**opened.body, "overlap": None if opened.known else _overlap(before, opened.body, request)}
    facts = {**thing.facts, "logs": [*thing.facts.get("logs", []), body]}
    record = before if opened.known else record_of(facts, [*bodies, body])
    after = aftermath(office, thing, record, request.ensemble, progress)
    writes = not (opened.known or request.dry_run)
    if writes:
        kept = keep_file(office.ledger.path, opened.data, request.file.suffix.lower() or ".txt")
        event = NewEvent(word="store.logged.1", stream=thing.stream, body={**body, "kept_as": kept})
        record_aftermath(office, thing, event, after)
    return StoreTold(
        store=thing.number,
        zone=after.zone,
        log=LogTold(
            file=str(request.file),
            sha256=body["sha256"],
            readings=body["readings"],
            first=datetime.fromisoformat(body["first"]),
            last=datetime.fromisoformat(body["last"]),
            warm_c=body["limits"]["warm_c"],
            excursions=opened.spells,
            hours_new=_hours(record) - _hours(before),
        ),
        failure=None,
        taken_back=None,
        recorded=writes,
        known_before=opened.known,
        dry_run=request.dry_run,
        after=after,
        notes=(
            *body["notes"],
            *_after_now(office, "the last reading", body["last"], after.zone),
            *_beside_failures(record, after.zone),
        ),
    )


def record_failure(office: Office, request: FailureRequest, progress: Progress | None = None) -> StoreTold:
    """Record that a store was off, and forecast every box of it again.

    The store drifts to the room with its kind's time constant, wherever no reading says otherwise.

    Raises
    ------
    BadInput : the times or the room cannot be right, or another failure is recorded for part of that time.
    UnknownName : no such store.
    """
    thing = find_store(office, request.store)
    body = _failure_body(office, thing, request)
    earlier = thing.facts.get("failures", [])
    known = any(all(item.get(key) == body[key] for key in ("from", "to", "room_c")) for item in earlier)
    if not known:
        _refuse_crossing(thing, body, earlier)
    others = [item for item in earlier if item["from"] != body["from"]]
    facts = thing.facts if known else {**thing.facts, "failures": [*others, body]}
    record = record_of(facts, log_bodies(office, thing))
    after = aftermath(office, thing, record, request.ensemble, progress)
    writes = not (known or request.dry_run)
    if writes:
        record_aftermath(office, thing, NewEvent(word="store.failed.1", stream=thing.stream, body=body), after)
    return StoreTold(
        store=thing.number,
        zone=after.zone,
        log=None,
        failure=body,
        taken_back=None,
        recorded=writes,
        known_before=known,
        dry_run=request.dry_run,
        after=after,
        notes=(
            *_after_now(office, "the end of the failure", body["to"] or body["from"], after.zone),
            *_beside_failures(record, after.zone),
        ),
    )


def take_back(office: Office, request: TakeBack, progress: Progress | None = None) -> StoreTold:
    """Take back readings or a failure that were recorded by mistake; the events stay in the ledger and in the story.

    Raises
    ------
    BadInput : no reason, or nothing such is recorded for this store.
    """
    thing = find_store(office, request.store)
    if not request.reason.strip():
        raise BadInput(
            "taking back needs a reason", where="--reason", do='Say why, for example --reason "it was Fridge 1"'
        )
    if request.file is not None:
        body, kind = {"sha256": checksum(_bytes_of(request.file))}, "logs"
        what = f"the readings of {request.file.name}"
    else:
        begins = request.begins.astimezone(UTC).isoformat() if request.begins is not None else ""
        body, kind, what = {"from": begins}, "failures", "the failure"
    (key, value), *_ = body.items()
    kept = [item for item in thing.facts.get(kind, []) if item[key] != value]
    if len(kept) == len(thing.facts.get(kind, [])):
        raise BadInput(
            f"{what} is not recorded for it" if kind == "failures" else f"{what} are not recorded for it",
            where=f"store {thing.number}",
            do="See what is recorded with: findhold list stores --json",
        )
    record = record_of({**thing.facts, kind: kept}, log_bodies(office, thing))
    after = aftermath(office, thing, record, request.ensemble, progress)
    event = NewEvent(word="store.retracted.1", stream=thing.stream, body={**body, "reason": request.reason.strip()})
    record_aftermath(office, thing, event, after)
    return StoreTold(
        store=thing.number,
        zone=after.zone,
        log=None,
        failure=None,
        taken_back=what,
        recorded=True,
        known_before=False,
        dry_run=False,
        after=after,
        notes=(),
    )


def store_answer(told: StoreTold) -> dict[str, Any]:
    """What happened to a store in the public shape of `import --logger --json` and `import --failure --json`."""
    after = told.after
    return {
        "store": told.store,
        "what_happened": list(what_happened(told)),
        "log": plain(told.log),
        "failure": told.failure,
        "taken_back": told.taken_back,
        "recorded": told.recorded,
        "known_before": told.known_before,
        "dry_run": told.dry_run,
        "all_kept": after.all_kept,
        "boxes": plain(after.boxes),
        "acts": list(after.acts),
        "tell": list(after.tell),
        "notes": list(told.notes),
        "refused": [{"find": number, "error": error.as_dict()} for number, error in after.refused],
    }


def what_happened(told: StoreTold) -> tuple[str, ...]:
    """What happened to a store, a sentence for each thing."""
    if told.taken_back is not None:
        return (f"{told.store}: {told.taken_back} taken back.",)
    if told.failure is not None:
        return (failure_words(told.failure, told.zone),)
    log = told.log
    if log is None:
        return ()
    span = f"{for_people(log.first, told.zone)} to {for_people(log.last, told.zone)}"
    head = f"{told.store}: {log.readings} readings from {span}."
    if log.excursions is None:
        return (head, "The logger measures no temperature.")
    return (head, *spell_lines(plain(log.excursions), log.warm_c, told.zone))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Opened:
    """A logger's file, read: its bytes, its spells, what the ledger is to keep, and whether it is kept already."""

    data: bytes
    spells: Excursions | None
    body: dict[str, Any]
    known: bool


def _opened(office: Office, store: Thing, request: LogRequest) -> _Opened:
    data = _bytes_of(request.file)
    sha256 = checksum(data)
    _refuse_elsewhere(office, store, sha256)
    series, policy = _read(data, request), read_choices().policy
    spells = _excursions(series, policy)
    body = _log_body(series, spells, policy)
    body |= {"file": request.file.name, "sha256": sha256, "bytes": len(data), "store": store.number}
    body |= {"zone": request.zone}
    known = any(log["sha256"] == sha256 for log in store.facts.get("logs", []))
    return _Opened(data=data, spells=spells, body=body, known=known)


def _hours(record: StoreRecord) -> int:
    """Hours of which anything is recorded."""
    return max(len(record.temp.at), len(record.rh.at))


def find_store(office: Office, name: str) -> Thing:
    """A store by its name, upper or lower case; raises UnknownName with near names."""
    stores = office.ledger.states("store", UNIT)
    for thing in stores:
        if thing.number.casefold() == name.strip().casefold():
            return thing
    raise UnknownName("store", name.strip(), [thing.number for thing in stores])


def log_bodies(office: Office, store: Thing) -> list[dict[str, Any]]:
    """The bodies of a store's store.logged events, oldest first."""
    return [event.body for event in office.ledger.story(store.stream) if event.word == "store.logged.1"]


def _bytes_of(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        wrong = f"the file cannot be read ({error.strerror})"
        raise BadInput(wrong, where=str(file), do="Check the path and the permissions") from error


def _read(data: bytes, request: LogRequest) -> LoggerSeries:
    """The file's readings; every question of the reader stops here."""
    columns = {what: request.answers[what] for what in ("temperature", "humidity") if what in request.answers}
    series = read_logger(
        data,
        request.file.name,
        zone=request.answers.get("clock", request.zone),
        order=request.answers.get("dates"),
        use=columns,
        faults=request.answers.get("faults"),
    )
    if series.questions:
        raise _asked(*series.questions, file=request.file.name)
    return series


def _asked(*questions: Question, file: str) -> Mistakes:
    error = Mistakes(questions=list(questions), answerable=all(question.choices for question in questions))
    error.where = file
    return error


def _excursions(series: LoggerSeries, policy: Policy) -> Excursions | None:
    if series.temp_c is None:
        return None
    rules = spell_rules(
        warm_c=policy.warm_c, cold_c=policy.cold_note_c, freeze_c=policy.freeze_c, spell_hours=policy.warm_spell_h
    )
    return find_excursions(series.at, series.temp_c, rules)


def _log_body(series: LoggerSeries, spells: Excursions | None, policy: Policy) -> dict[str, Any]:
    """What the ledger keeps of a file: its span, its spells with the limits they were found by, hourly means."""
    rh = series.rh
    return {
        "first": f"{series.at[0]}+00:00",
        "last": f"{series.at[-1]}+00:00",
        "readings": len(series.at),
        "limits": {"warm_c": policy.warm_c, "cold_c": policy.cold_note_c, "freeze_c": policy.freeze_c},
        "spells": None if spells is None else plain(spells),
        "still_warm": spells is not None and spells.still_warm,
        "notes": list(series.notes),
        "series": {
            "temp_c": None if series.temp_c is None else packed(thin(series.at, series.temp_c, scale=2)),
            "rh": None if rh is None else packed(thin(series.at, rh.clip(0.0, 1.0), scale=3)),
        },
    }


def _refuse_elsewhere(office: Office, store: Thing, sha256: str) -> None:
    for other in office.ledger.states("store", UNIT):
        if other.number != store.number and any(log["sha256"] == sha256 for log in other.facts.get("logs", [])):
            raise BadInput(
                f"this very file is recorded for the store {other.number}",
                where=f"store {store.number}",
                do=f"Take it back there first with --take-back and a --reason, or give the file of {store.number}",
            )


def _overlap(before: StoreRecord, body: Mapping[str, Any], request: LogRequest) -> str | None:
    """The answer for hours that another file has already; asked for when the two disagree."""
    answer = request.answers.get("overlap")
    if answer is not None and answer not in OVERLAPS:
        raise UnknownName("answer to overlap", answer, list(OVERLAPS))
    hours, apart_k = disagreement(before.temp, unpacked(body["series"]["temp_c"]))
    if answer is None and hours and apart_k > spell_figure("overlap_k"):
        text = (
            f"{hours} h of this file are recorded already for {request.store}, and differ by {apart_k:.1f} K in the"
            " middle. Is it another store's logger, or one on another shelf? Which stands for these hours?"
        )
        raise _asked(Question(about="overlap", text=text, choices=OVERLAPS), file=request.file.name)
    return answer


def _failure_body(office: Office, store: Thing, request: FailureRequest) -> dict[str, Any]:
    where = f"failure of {store.number}"
    begins, ends, now = request.begins, request.ends, office.now()
    if ends is not None and ends <= begins:
        raise BadInput("it was on again before it was off", where=where, do="Give both times again")
    if (ends or now) - begins > LONGEST_FAILURE:
        raise BadInput(
            f"it lasts {((ends or now) - begins).days} days",
            where=where,
            limit=f"{LONGEST_FAILURE.days} days",
            do="Check the years of --from and --to",
        )
    if not ROOM_C[0] <= request.room_c <= ROOM_C[1]:
        raise BadInput(
            f"the room is {request.room_c:g} °C",
            where=where,
            limit=f"{ROOM_C[0]:g} to {ROOM_C[1]:g} °C",
            do="Give the room's temperature in degrees Celsius: --room 19",
        )
    warming, cooling = drift_hours(store.facts.get("kind"))
    return {
        "store": store.number,
        "from": begins.astimezone(UTC).isoformat(),
        "to": None if ends is None else ends.astimezone(UTC).isoformat(),
        "room_c": request.room_c,
        "warming_hours": warming,
        "cooling_hours": cooling,
    }


def _refuse_crossing(store: Thing, body: Mapping[str, Any], earlier: list[dict[str, Any]]) -> None:
    """A failure may close the open one that began with it; otherwise two never share an hour."""
    for item in earlier:
        if item["from"] == body["from"] and item["to"] is None:
            continue
        apart = (body["to"] is not None and body["to"] <= item["from"]) or (
            item["to"] is not None and item["to"] <= body["from"]
        )
        if not apart:
            raise BadInput(
                f"a failure from {item['from']} to {item['to'] or 'now'} is recorded already",
                where=f"store {store.number}",
                do="Take it back with --take-back and a --reason, then record the right times",
            )


def _after_now(office: Office, what: str, moment: str | None, zone: str) -> tuple[str, ...]:
    """A note on something that has not come yet; it is recorded all the same, for a power cut may be announced."""
    if moment is None or datetime.fromisoformat(moment) <= office.now():
        return ()
    when = for_people(datetime.fromisoformat(moment), zone)
    return (f"{what}, {when}, is later than this computer's clock: check the times and their zone",)


def _beside_failures(record: StoreRecord, zone: str) -> tuple[str, ...]:
    """Notes on failures typed by hand of whose time there are readings: there the readings stand."""
    said = []
    for failure in record.failures:
        ends = failure.ends.timestamp() if failure.ends is not None else float("inf")
        at_s = record.temp.at_s
        inside = (at_s >= failure.begins.timestamp()) & (at_s <= ends)
        if inside.any():
            warmest_c = float(record.temp.value[inside].max())
            said.append(
                f"there are readings of {int(inside.sum())} h of the failure typed from"
                f" {for_people(failure.begins, zone)}: there they stand, and they reach {warmest_c:.1f} °C"
            )
    return tuple(said)
