"""What people type on a command line or a form, as requests: times with their zone, overrides with their person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from findhold.dates.instants import parse_instant
from findhold.errors import BadInput
from findhold.pack.inputs import Override
from findhold.service.holds import HoldRequest
from findhold.service.ledger_case import Asked
from findhold.service.store_boxes import Ensemble
from findhold.service.stores import FailureRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWords:
    """What may be added to a plan, as typed."""

    barrier: str | None = None
    wrapping: str | None = None
    box: str | None = None
    packed_at: str | None = None
    overrides: tuple[str, ...] = ()
    reason: str = ""
    person: str | None = None
    """Who records the plan."""
    allowed_by: str | None = None
    """Who lets the overridden rules pass; None = who records the plan."""


def hold_request(
    finds: tuple[str, ...],
    site: str | None,
    words: PlanWords,
    *,
    members: int = 1000,
    seed: int = 1,
    record: bool = True,
) -> HoldRequest:
    """A request to plan or to forecast.

    A time without an offset is left to be read on the site's clock, which the ledger knows.

    Raises
    ------
    BadInput : a time that cannot be read, or an override without a named person and a reason.
    """
    asked = Asked(
        packed_at=_moment(words.packed_at) if words.packed_at else None,
        barrier=words.barrier,
        wrapping=words.wrapping,
        box=words.box,
        overrides=overrides_of(words),
    )
    return HoldRequest(finds=finds, site=site, asked=asked, members=members, seed=seed, record=record)


def overrides_of(words: PlanWords) -> tuple[Override, ...]:
    """The overrides as typed, each with its person and reason.

    Raises
    ------
    BadInput : one that names no pair, or without a named person and a reason.
    """
    return tuple(_override(pair, words) for pair in words.overrides)


def _moment(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text.strip())
    except ValueError:
        return parse_instant(text, "--packed-at")


def failure_request(
    store: str, begins: str | None, ends: str | None, room_c: float | None, *, dry_run: bool, ensemble: Ensemble
) -> FailureRequest:
    """A failure of a store as typed: times with their zone, the room in °C.

    Raises
    ------
    BadInput : no beginning, no room, or a time without zone.
    """
    if begins is None or room_c is None:
        lacking = "--from" if begins is None else "--room"
        raise BadInput(
            f"{lacking} is missing",
            where=f"--failure {store}",
            do="Write for example --from 2026-07-31T20:00+01:00 --to 2026-08-02T03:00+01:00 --room 19",
        )
    return FailureRequest(
        store=store,
        begins=parse_instant(begins, "--from"),
        ends=parse_instant(ends, "--to") if ends else None,
        room_c=room_c,
        dry_run=dry_run,
        ensemble=ensemble,
    )


def moment_typed(text: str | None, where: str) -> datetime | None:
    """An instant as typed, with its zone; None where nothing was typed."""
    return parse_instant(text, where) if text else None


def _override(pair: str, words: PlanWords) -> Override:
    material, colon, rule = pair.partition(":")
    if not colon or not material.strip() or not rule.strip():
        raise BadInput(
            f"{pair!r} names no pair",
            where="--override",
            do='Write material:analysis, for example "tissue:radiocarbon"',
        )
    person, reason = (words.allowed_by or words.person or "").strip(), words.reason.strip()
    lacking = [*(() if person else ("--person (or --allowed-by)",)), *(() if reason else ("--reason",))]
    if lacking:
        raise BadInput(
            f"a rule is overridden only by a named person with a reason: {' and '.join(lacking)} "
            f"{'is' if len(lacking) == 1 else 'are'} missing",
            where=f"--override {pair}",
            do='Add --reason "WHY", and --allowed-by "NAME" where who decides is not who records the plan (--person)',
        )
    return Override(material=material.strip(), rule=rule.strip(), person=person, reason=reason)
