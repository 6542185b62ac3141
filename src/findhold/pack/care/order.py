"""What comes before what: the order of the planned analyses, what was done too early, and rules that close a circle."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from heapq import heapify, heappop, heappush
from itertools import pairwise

from findhold.errors import Question
from findhold.pack.asked import Asked
from findhold.pack.care.parts import parts_of
from findhold.tables.contact import Severity
from findhold.tables.ordering import IMAGING, IMAGING_ACT, OrderRule, doing, find_doing, order_rules

ALWAYS = ("photographs", "condition note")
_EMPTIED = ("cremation urn", "vessel content")


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderStep:
    """One thing of the sequence, why it stands before another, and the day before which it has to be done."""

    number: int
    name: str
    called: str
    """The name people say: imaging is CT or X-ray."""
    words: str
    why: str
    on: datetime | None
    before: datetime | None
    """The earliest date of something that would spoil it; None when nothing later has a date."""
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """A thing that was done, or is dated, before what should have come first."""

    first: str
    """What should have come first."""
    done: str
    """What came too early."""
    how: str
    why: str
    severity: Severity
    gives_way: bool
    source: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """The recommended order, what contradicts it, and what only a person can settle."""

    steps: tuple[OrderStep, ...] = ()
    clashes: tuple[Clash, ...] = ()
    circle: tuple[str, ...] = ()
    """Things that each have to come before the next, the first again at the end; empty when there is no circle."""
    gave_way: tuple[str, ...] = ()
    """Rules that were left out so that no circle closes, as sentences."""
    questions: tuple[Question, ...] = ()


def order_clashes(
    analyses: Sequence[str],
    acts: Sequence[str],
    dates: Mapping[str, datetime],
    *,
    wanted: Sequence[tuple[str, str]] = (),
    steps: Sequence[str] = ALWAYS,
    rules: Sequence[OrderRule] | None = None,
) -> Order:
    """The order of the planned analyses for the opening day, and what contradicts the rules of order.

    Not for booking: it says what comes first, not on which day.

    Parameters
    ----------
    analyses : planned analyses, by any of their names.
    acts : acts done; one without a date is taken as done already, one with a date as done or planned then.
    dates : when an analysis, act or step was or is to be done, by name; all with a zone.
    wanted : pairs (first, later) that a specialist asks for beside the table's rules.
    steps : further things that belong in the sequence (photographs, opening the block ...).
    rules : the rules of order; None takes the table's.

    Returns
    -------
    Order. Ties are broken by the usual sequence. When wanted pairs contradict the rules, the rules' order is returned
    with the circle as a question; when the rules themselves do, things in the circle stand in the usual sequence.

    Raises
    ------
    UnknownName : an analysis, act or step that is not in the tables.

    Source: tables order_rules and order_steps, each row with its own source and mark; the usual sequence is our own
    judgement.
    """
    on = {find_doing(name): when for name, when in dates.items()}
    planned = _names(analyses)
    past = [name for name in _names(acts) if name not in on]
    things = dict.fromkeys([*steps, *planned, *(n for n in on if n not in planned)])
    to_do = [name for name in things if name not in past]
    table = list(order_rules() if rules is None else rules)
    clashes = tuple(_clashes(table, planned, past, on))
    asked_for = [_wanted_rule(find_doing(first), find_doing(later)) for first, later in wanted]
    sequence, circle, given_way = _sequence(to_do, table, asked_for)
    return Order(
        steps=_numbered(sequence, [r for r in table if r not in given_way], on),
        clashes=clashes,
        circle=circle,
        gave_way=(*(_gave_way(rule) for rule in given_way), *_idle(asked_for, to_do)),
        questions=_questions(circle),
    )


def order_for(asked: Asked) -> Order:
    """The order of one request: opening and soil controls belong to a find in its soil, emptying to a vessel's content.

    An order of nothing (no analyses planned) is empty, but what was done is still weighed.
    """
    inputs = asked.inputs
    steps = [*ALWAYS]
    if asked.soil is not None:
        steps.append("opening")
        if any(analysis.controls == "soil" for analysis in asked.analyses):
            steps.append("soil controls")
    if not set(_EMPTIED).isdisjoint(parts_of(asked)):
        steps.append("emptying")
    order = order_clashes(
        [analysis.name for analysis in asked.analyses],
        [act.name for act in asked.acts],
        dict(inputs.dated),
        wanted=inputs.wanted_order,
        steps=steps,
    )
    return order if asked.analyses else replace(order, steps=())


def sampled_first(asked: Asked, analysis: str, act: str) -> bool:
    """Whether the dates put an analysis before an act that would spoil it."""
    on = {find_doing(name): when for name, when in asked.inputs.dated}
    first, later = on.get(find_doing(analysis)), on.get(find_doing(act))
    return first is not None and later is not None and first < later


def called(name: str) -> str:
    """A thing of the sequence as the contact rules call it: imaging is the act CT or X-ray."""
    return IMAGING_ACT if name == IMAGING else name


def _names(typed: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(find_doing(name) for name in typed))


def _clashes(
    rules: Sequence[OrderRule], planned: Sequence[str], past: Sequence[str], on: Mapping[str, datetime]
) -> Iterable[Clash]:
    """What was done or is dated before what should have come first."""
    wanted = {*planned, *on}
    for rule in rules:
        first, done = rule.before, rule.after
        if first not in wanted or first in past:
            continue
        if done in past:
            how = f"{called(done)} is taken as done already; if it comes later, give its date"
        elif done in on and first in on and on[done] < on[first]:
            how = f"{called(done)} is dated {_day(on[done])}, {called(first)} {_day(on[first])}"
        else:
            continue
        yield Clash(
            first=first,
            done=done,
            how=how,
            why=rule.why,
            severity=rule.severity,
            gives_way=rule.gives_way,
            source=rule.source,
            seen=rule.seen,
        )


def _sequence(
    to_do: Sequence[str], rules: Sequence[OrderRule], asked_for: Sequence[OrderRule]
) -> tuple[list[str], tuple[str, ...], list[OrderRule]]:
    """The things in order, the circle that had to be left out, and the rules that gave way.

    Firm rules are never dropped in silence: what specialists ask for against them is the circle.
    """
    there = [rule for rule in rules if rule.before in to_do and rule.after in to_do]
    firm = [rule for rule in there if not rule.gives_way]
    asked_for = [rule for rule in asked_for if rule.before in to_do and rule.after in to_do]
    circle = _circle(to_do, [*firm, *asked_for])
    kept = firm if circle else [*firm, *asked_for]
    given_way = []
    for rule in there:
        if not rule.gives_way:
            continue
        if _circle(to_do, [*kept, rule]):
            given_way.append(rule)
        else:
            kept = [*kept, rule]
    return _sorted(to_do, kept), circle, given_way


def _sorted(to_do: Sequence[str], rules: Sequence[OrderRule]) -> list[str]:
    """Things in an order that meets every rule, earliest usual place first; those in a circle by place at the end."""
    waits = {name: {rule.before for rule in rules if rule.after == name} for name in to_do}
    ready = [(doing(name).rank, name) for name, first in waits.items() if not first]
    heapify(ready)
    done: list[str] = []
    while ready:
        _, name = heappop(ready)
        done.append(name)
        for later, first in waits.items():
            if name in first:
                first.discard(name)
                if not first:
                    heappush(ready, (doing(later).rank, later))
    return [*done, *sorted((name for name in to_do if name not in done), key=lambda name: doing(name).rank)]


def _circle(to_do: Sequence[str], rules: Sequence[OrderRule]) -> tuple[str, ...]:
    """One circle among the rules, its first thing again at the end; empty when there is none."""
    left = set(_sorted(to_do, rules))
    after = {name: [rule.after for rule in rules if rule.before == name] for name in to_do}
    # What has nothing after it is in no circle; take such away until only circles are left.
    while gone := {name for name in left if not any(later in left for later in after[name])}:
        left -= gone
    if not left:
        return ()
    trail = [min(left)]
    while True:
        following = next(later for later in after[trail[-1]] if later in left)
        if following in trail:
            return (*trail[trail.index(following) :], following)
        trail.append(following)


def _numbered(sequence: Sequence[str], rules: Sequence[OrderRule], on: Mapping[str, datetime]) -> tuple[OrderStep, ...]:
    """The sequence with, for each thing, the gravest reason why it stands before a later one."""
    grave = ("destroys", "contaminates", "hampers")
    told = []
    for place, name in enumerate(sequence):
        later = [rule for rule in rules if rule.before == name and rule.after in sequence[place + 1 :]]
        later.sort(key=lambda rule: (grave.index(rule.severity), sequence.index(rule.after)))
        spoilt = [on[rule.after] for rule in rules if rule.before == name and rule.after in on]
        row, known = (later[0] if later else None), doing(name)
        told.append(
            OrderStep(
                number=place + 1,
                name=name,
                called=called(name),
                words=known.words,
                why=f"before {called(row.after)}: {row.why}" if row else "",
                on=on.get(name),
                before=min(spoilt, default=None),
                source=row.source if row else known.source,
                seen=row.seen if row else known.seen,
            )
        )
    return tuple(told)


def _questions(circle: tuple[str, ...]) -> tuple[Question, ...]:
    if not circle:
        return ()
    way = " before ".join(called(name) for name in circle)
    text = f"The order asked for closes a circle: {way}. Which of these may come later? Ask the specialists together."
    choices = tuple(f"{called(first)} after {called(later)}" for first, later in pairwise(circle))
    return (Question(about="order of analyses", text=text, choices=choices),)


def _gave_way(rule: OrderRule) -> str:
    return f"{called(rule.before)} cannot come before {called(rule.after)} here ({rule.why})."


def _idle(asked_for: Sequence[OrderRule], to_do: Sequence[str]) -> Iterable[str]:
    """Pairs asked for that order nothing here, as sentences."""
    for rule in asked_for:
        lacking = [called(name) for name in (rule.before, rule.after) if name not in to_do]
        if lacking:
            pair = f"{called(rule.before)} before {called(rule.after)}"
            yield f"{pair} was asked for, but {' and '.join(lacking)} is not planned here."


def _wanted_rule(first: str, later: str) -> OrderRule:
    return OrderRule(
        before=first,
        after=later,
        why="asked for",
        severity="hampers",
        gives_way=False,
        source="findhold-judgement",
        seen="judgement",
    )


def _day(when: datetime) -> str:
    return f"{when.day} {when:%b %Y, %H:%M}"
