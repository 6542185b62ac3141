"""Facts of the unit that a person changes: who is reached how, who looks after a store, what is in stock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta, timezone
from typing import Any

from findhold.dates.people import names_in, person_meant, weekdays_read
from findhold.errors import BadInput, UnknownName
from findhold.record.events import UNIT, Event, NewEvent, number_of, stream_of
from findhold.register.cells import read_column
from findhold.register.kinds import KINDS, Field
from findhold.register.numbers import ColumnFacts
from findhold.register.values import NOTHING, same_value, worded
from findhold.service.office import Office
from findhold.service.rounds.calendar import people_of
from findhold.service.rounds.chosen import CalendarChosen, read_calendar
from findhold.service.storytelling import told
from findhold.service.wire import plain
from findhold.store.changes import newest_of
from findhold.store.ledger import Thing

CHANGEABLE: dict[str, tuple[str, ...]] = {
    "person": ("role", "phone", "email", "weekdays", "away_from", "away_to", "covered_by"),
    "store": ("duty_holder",),
    "box": ("count",),
    "material": ("count", "place"),
}
"""What changes from week to week; everything else is corrected by an import with its reason."""
_NAMES = ("covered_by", "duty_holder")
"""Fields that name people of the register."""
_STORY = ("thing.entered.1", "thing.corrected.1")
MOST_LINES = 40
_MANY, _JUMP = 200, 10
"""A stock above so many, and so many times what stood before, wants a reason: it is rather a slip (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRequest:
    """One thing and what is to stand in its fields, as typed; "" empties a field.

    was : what stood there when the form was made; a field that somebody changed since is refused, not overwritten.
    """

    kind: str
    name: str
    fields: Mapping[str, str]
    was: Mapping[str, str] = field(default_factory=dict)
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldTold:
    """One field that may be changed: its value as text, and what settings.toml says in its place ("" for nothing)."""

    name: str
    label: str
    type: str
    value: str
    help: str
    settings_say: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeLine:
    """One recorded change: when, who, of what, in words."""

    at: str
    person: str
    kind: str
    name: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ThingTold:
    """One thing of the unit: the fields that may be changed, its other facts, and its changes, newest first."""

    kind: str
    name: str
    fields: tuple[FieldTold, ...]
    others: dict[str, str]
    changes: tuple[ChangeLine, ...]


def thing_told(office: Office, kind: str, name: str) -> ThingTold:
    """One person, store, box or packing material with what may be changed of it; raises UnknownName."""
    thing = _thing(office, kind, name)
    chosen = read_calendar()
    names = CHANGEABLE[kind]
    fields = tuple(_field_told(KINDS[kind].fields[one], thing, chosen) for one in names)
    spec = KINDS[kind].fields
    others = {
        spec[key].label: worded(value, spec[key].unit) for key, value in thing.facts.items() if _other(kind, key, value)
    }
    return ThingTold(
        kind=kind, name=thing.number, fields=fields, others=others, changes=_lines(office, [thing.stream], _STORY)
    )


def newest_changes(office: Office) -> tuple[ChangeLine, ...]:
    """The newest changes of people, stores, boxes and materials, newest first."""
    streams = [thing.stream for kind in CHANGEABLE for thing in office.ledger.states(kind, UNIT)]
    return _lines(office, streams, _STORY[1:])


def change_thing(office: Office, request: ChangeRequest) -> dict[str, Any]:
    """Record what is to stand in some fields of a thing, as one event with its person and time.

    Returns
    -------
    Kind, name, `changes` (field, label, before, after, and both in words), person, instant, and `recorded`: False when
    all stood so.

    Raises
    ------
    UnknownName : no such thing, field or person. BadInput : a value cannot be read, or was changed by somebody since.
    """
    thing = _thing(office, request.kind, request.name)
    if not request.fields:
        raise BadInput("nothing is to be changed", where=thing.number, do="Name a field and its new value")
    new = {name: _read(office, request.kind, name, text) for name, text in request.fields.items()}
    _spells_end(thing, new)
    stamp = office.stamp()
    with office.ledger.writing(stamp) as writing:
        now = writing.state(thing.stream) or thing
        _unchanged_since(now, request)
        _hardly_so_many(now, new, request)
        fresh = {name: value for name, value in new.items() if not same_value(now.facts.get(name), value)}
        if fresh:
            reason = request.reason.strip() or "as it is now"
            body = {"fields": plain(fresh), "reason": reason}
            writing.append([NewEvent(word="thing.corrected.1", stream=thing.stream, body=body)])
    spec = KINDS[request.kind].fields
    return {
        "kind": request.kind,
        "name": thing.number,
        "changes": [
            {
                "field": name,
                "label": spec[name].label,
                "before": plain(now.facts.get(name)),
                "after": plain(value),
                "says": f"{worded(value)}, before {worded(now.facts.get(name))}",
            }
            for name, value in fresh.items()
        ],
        "recorded": bool(fresh),
        "person": office.person,
        "at": plain(stamp.now),
    }


def _thing(office: Office, kind: str, name: str) -> Thing:
    if kind not in CHANGEABLE:
        raise UnknownName("kind of thing that is changed here", kind, list(CHANGEABLE))
    thing = office.ledger.state(stream_of(kind, UNIT, name)) if name else None
    if thing is None:
        raise UnknownName(KINDS[kind].label, name, [one.number for one in office.ledger.states(kind, UNIT)])
    return thing


def _other(kind: str, key: str, value: Any) -> bool:
    known = KINDS[kind].fields
    return key in known and key not in CHANGEABLE[kind] and key != "name" and value not in NOTHING


def _text(value: Any) -> str:
    """A value as it stands in a form's field."""
    return "" if value in NOTHING else worded(value)


def _field_told(spec: Field, thing: Thing, chosen: CalendarChosen) -> FieldTold:
    return FieldTold(
        name=spec.name,
        label=spec.label,
        type=spec.type,
        value=_text(thing.facts.get(spec.name)),
        help=spec.help,
        settings_say=_settings_say(spec.name, thing, chosen),
    )


def _settings_say(name: str, thing: Thing, chosen: CalendarChosen) -> str:
    """What settings.toml says of a field; it counts before the ledger's value."""
    if name == "duty_holder":
        duty = chosen.duty.get(thing.number, ())
        return f'[duty] "{thing.number}" = {", ".join(duty)}' if duty else ""
    added = next((one for key, one in chosen.people.items() if key.casefold() == thing.number.casefold()), None)
    value = getattr(added, name, None) if name in ("phone", "email", "covered_by") else None
    if not value:
        return ""
    return f'[people."{thing.number}"] {name} = {value if isinstance(value, str) else ", ".join(value)}'


def _read(office: Office, kind: str, name: str, text: str) -> Any:
    """A typed value as the register keeps it; None for an emptied field."""
    if name not in CHANGEABLE[kind]:
        raise UnknownName(f"field of {KINDS[kind].label} that is changed here", name, list(CHANGEABLE[kind]))
    spec = KINDS[kind].fields[name]
    typed = " ".join(text.split())
    if not typed:
        return None
    reading = read_column([typed], spec, ColumnFacts(heading=spec.label), None)
    if reading.bad or reading.questions:
        wrong, limit = reading.bad.get(0) or (reading.questions[0].text, ", ".join(reading.questions[0].choices))
        raise BadInput(f"{typed!r} {wrong}", where=spec.label, limit=limit, do="Correct it; nothing was recorded")
    value = reading.values[0]
    if name == "weekdays":
        weekdays_read(value, spec.label)
    if name in _NAMES:
        return _people_named(office, value, spec.label)
    return value


def _people_named(office: Office, text: str, label: str) -> str:
    """Names of the register in its own spelling, parted by commas."""
    people = people_of((thing.facts for thing in office.ledger.states("person", UNIT)), {})
    found = []
    for name in names_in(text):
        person = person_meant(name, people)
        if person is None:
            raise UnknownName("person", name, list(people), where=label)
        found.append(person.name)
    return ", ".join(found)


def _spells_end(thing: Thing, new: Mapping[str, Any]) -> None:
    first, last = (plain(new.get(name, thing.facts.get(name))) for name in ("away_from", "away_to"))
    if first and last and last < first:
        raise BadInput(
            f"the absence ends on {last}, before it begins on {first}",
            where=thing.number,
            do="Correct the first or the last day away; nothing was recorded",
        )


def _unchanged_since(now: Thing, request: ChangeRequest) -> None:
    for name, was in request.was.items():
        stands = _text(now.facts.get(name))
        if name in request.fields and stands != was and stands != " ".join(request.fields[name].split()):
            raise BadInput(
                f"{KINDS[request.kind].fields[name].label} was changed by somebody else: it is {stands or 'empty'} now",
                where=now.number,
                limit=f"{was or 'empty'}, as it stood when this form was made",
                do="Load the page again, look at what stands there now, and change it if it is still wrong",
            )


def _hardly_so_many(now: Thing, new: Mapping[str, Any], request: ChangeRequest) -> None:
    count, before = new.get("count"), now.facts.get("count") or 1
    if count is None or count <= max(_MANY, _JUMP * before) or request.reason.strip():
        return
    raise BadInput(
        f"{count} in stock is far more than the {now.facts.get('count') or 'none'} before",
        where=now.number,
        limit=f"{max(_MANY, _JUMP * before):g} without a reason",
        do="Count again; or say why it is right, and send it again",
    )


def _lines(office: Office, streams: list[str], words: tuple[str, ...]) -> tuple[ChangeLine, ...]:
    with office.ledger.reading() as connection:
        return tuple(_line(event) for event in newest_of(connection, streams, words, MOST_LINES))


def _line(event: Event) -> ChangeLine:
    return ChangeLine(
        at=event.at.astimezone(timezone(timedelta(minutes=event.offset_min))).isoformat(timespec="minutes"),
        person=event.person,
        kind=event.stream.split("/")[0],
        name=number_of(event.stream),
        words=told(event),
    )
