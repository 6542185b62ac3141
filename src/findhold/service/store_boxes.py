"""The boxes of a store after something happened to it: forecast again, worst first, with what to do now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from findhold.check.excursions import FROZEN, Excursions, find_excursions, spell_figure, spell_rules
from findhold.dates.instants import at_hour, day_at, day_for_people, zone_named
from findhold.errors import BadInput, FindholdError, LedgerTrouble
from findhold.keep.inputs import Climate, Policy
from findhold.keep.limits import TOO_COLD, TOO_WARM
from findhold.record.events import UNIT, NewEvent
from findhold.service.choices import Choices, read_choices
from findhold.service.holds import Held, HoldRequest, Progress, forecast_finds
from findhold.service.lastday import open_by
from findhold.service.ledger_case import Shelves, shelves, stays_of_find
from findhold.service.office import Office
from findhold.service.seen_amiss import seen_amiss
from findhold.service.stay import Stay, store_at
from findhold.service.store_record import StoreRecord
from findhold.service.whom_to_call import whom_to_call
from findhold.store.ledger import Thing
from findhold.tables.load import table

CLOSING_HOUR = 17
"""Hour of the last open day that is told as the end of a wait (common practice: a working day)."""
RULE_OF_THUMB = "half the policy's hold"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ensemble:
    """Which site (None: every site of the ledger), and the size and seed of the forecasts."""

    site: str | None = None
    members: int = 1000
    seed: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxTold:
    """One box of the store, before and after.

    `open_by` is the earliest of the limits that are still ahead in kind: growth, water, policy, and after a long warm
    spell the rule of thumb; a place that was too warm is in the past and no date to open by.
    """

    site: str
    find: str
    kept: str
    """The state it is kept in."""
    what: str
    box_id: str
    was: datetime | None
    was_limit: str | None
    now: datetime
    now_limit: str
    open_by: datetime
    open_by_limit: str
    open_at: datetime | None
    can_keep: bool | None
    warm_hours: float
    warmest_c: float
    warm_in: tuple[str, ...]
    """The stores it stood in while it was too warm: another one, where it was moved since."""
    coldest_c: float
    frozen: bool
    alarm: str
    """What was seen amiss; "" for nothing."""
    alarm_words: str
    """What holds of the date then."""
    do: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Aftermath:
    """Every box of a store forecast again, worst first, and what to do; `events` record it."""

    zone: str
    boxes: tuple[BoxTold, ...]
    acts: tuple[str, ...]
    refused: tuple[tuple[str, FindholdError], ...]
    events: tuple[NewEvent, ...]
    tell: tuple[str, ...] = ()
    """Whom to call, with their telephones, when something above asks for it."""

    @property
    def all_kept(self) -> bool:
        """False when a box cannot be kept until its planned opening, or could not be forecast."""
        return not self.refused and all(box.can_keep is not False for box in self.boxes)


def aftermath(
    office: Office, store: Thing, record: StoreRecord, ensemble: Ensemble, progress: Progress | None = None
) -> Aftermath:
    """Forecast again every box that stands or stood in a store; nothing is written.

    Parameters
    ----------
    office : where the ledger and the clock are.
    store : the store as it stands in the ledger.
    record : its readings and failures as they will be.
    ensemble : site, members and seed.
    progress : told how far it is.
    """
    choices = read_choices()
    sites = [office.site(ensemble.site)] if ensemble.site else office.ledger.states("site")
    boxes: list[BoxTold] = []
    refused: list[tuple[str, FindholdError]] = []
    events: list[NewEvent] = []
    for site in sites:
        shelf = shelves(office, site, choices)
        shelf = replace(shelf, records={**shelf.records, store.number: record})
        every = office.ledger.states("hold", site.number)
        holds = {hold.facts["find"]: hold for hold in every if not hold.facts.get("ended")}
        finds = [find for find in office.ledger.states("find", site.number) if find.number in holds]
        here = [find for find in finds if _stood_in(find, shelf, store.number)]
        request = HoldRequest(members=ensemble.members, seed=ensemble.seed, all_options=None)
        done, made = forecast_finds(here, shelf, holds, request, progress)
        boxes += [
            _box_told(one, site, holds[one.number], stays_of_find(one.find, shelf), choices.policy, office.now())
            for one in done.held
        ]
        refused += done.refused
        events += made
    ordered = tuple(
        sorted(boxes, key=lambda box: (not box.frozen, not box.alarm, box.open_by.astimezone(UTC), box.find))
    )
    acts = _acts(office, store, record, ordered, choices)
    return Aftermath(
        zone=sites[0].facts["zone"],
        boxes=ordered,
        acts=acts,
        refused=tuple(refused),
        events=tuple(events),
        tell=_tell(office, (*acts, *(box.do for box in ordered))),
    )


def record_aftermath(office: Office, store: Thing, event: NewEvent, after: Aftermath) -> None:
    """Append what happened to the store and every new forecast, all in one transaction.

    Raises
    ------
    LedgerTrouble : somebody else recorded something of this store meanwhile.
    """
    with office.ledger.writing(office.stamp()) as writing:
        newest = writing.state(store.stream)
        if newest is None or newest.seq != store.seq:
            raise LedgerTrouble(
                f"something else was recorded of {store.number} meanwhile; nothing was recorded now",
                do="Run the same command again",
            )
        writing.append([event, *after.events])


def _stood_in(find: Thing, shelf: Shelves, store: str) -> bool:
    try:
        return any(stay.store == store for stay in stays_of_find(find, shelf))
    except BadInput:
        return False  # a find without a store stands in no store


def _box_told(one: Held, site: Thing, hold: Thing, stays: Sequence[Stay], policy: Policy, now: datetime) -> BoxTold:
    if one.kept is None or one.case.climate is None or one.case.packed_at is None:
        raise ValueError("a box is told after its forecast")
    told, before = one.kept.forecast, hold.facts.get("forecast") or {}
    felt = _felt(one.case.climate, policy, one.case.packed_at, now)
    last, limit = _open_by(one, policy, felt.warm_hours)
    amiss = seen_amiss({**hold.facts, "forecast": {"keep_until": told.keep_until.isoformat()}}, one.case.zone)
    frozen = any(spell.kind == FROZEN for spell in felt.spells)
    warm = [spell for spell in felt.spells if spell.worst_c > policy.warm_c]
    return BoxTold(
        site=site.number,
        find=one.number,
        kept=one.plan.kept,
        what=one.find.facts.get("what") or "",
        box_id=str(one.box_id),
        was=datetime.fromisoformat(before["keep_until"]) if before else None,
        was_limit=before.get("governing_limit"),
        now=told.keep_until,
        now_limit=told.governing_limit,
        open_by=last,
        open_by_limit=limit,
        open_at=one.case.open_at,
        can_keep=told.can_keep,
        warm_hours=felt.warm_hours,
        warmest_c=felt.warmest_c,
        warm_in=tuple(dict.fromkeys(store_at(stays, spell.begins) for spell in warm)),
        coldest_c=felt.coldest_c,
        frozen=frozen,
        alarm="" if amiss is None else amiss.what,
        alarm_words="" if amiss is None else amiss.date_words,
        do=_what_to_do((last, one.case.open_at), now, one.case.zone, frozen=frozen)
        if amiss is None or frozen
        else f"{amiss.act}, call the conservator",
    )


def _felt(climate: Climate, policy: Policy, packed_at: datetime, until: datetime) -> Excursions:
    """Spells of the air round a box since it stood there until the moment, or the end of its readings if later."""
    rules = spell_rules(
        warm_c=policy.warm_c, cold_c=policy.cold_note_c, freeze_c=policy.freeze_c, spell_hours=policy.warm_spell_h
    )
    rules = replace(rules, silent_hours=float("inf"))  # a climate is a curve, not readings: nothing is unknown in it
    end_s = max((until - packed_at).total_seconds(), 1.0)
    series_s, series_c = climate.series_s, climate.series_temp_c
    if series_s is None or series_c is None:
        time_s, temp_c = np.array([0.0, end_s]), np.full(2, climate.temp_c)
    else:
        inner = series_s[(series_s > climate.stood_s) & (series_s < end_s)]
        time_s = np.concatenate(([climate.stood_s], inner, [end_s]))
        temp_c = np.interp(time_s, series_s, series_c)
    start = np.datetime64(packed_at.astimezone(UTC).replace(tzinfo=None), "s")
    return find_excursions(start + np.round(time_s).astype("timedelta64[s]"), temp_c, rules)


def _open_by(one: Held, policy: Policy, warm_hours: float) -> tuple[datetime, str]:
    """The earliest limit that is not the place itself, and its name."""
    if one.kept is None or one.case.exposed_at is None:
        raise ValueError("a box is told after its forecast")
    limits = one.kept.forecast.limits
    dated = [
        (limit.date_low, limit.name)
        for limit in limits
        if limit.date_low is not None and limit.name not in (TOO_WARM, TOO_COLD)
    ]
    if one.plan.state != "dry" and warm_hours > spell_figure("call_hours"):
        half = one.case.exposed_at + timedelta(days=policy.policy_days * spell_figure("hold_share"))
        dated.append((half, RULE_OF_THUMB))
    first, name = min(dated, key=lambda pair: pair[0].astimezone(UTC))
    last = open_by(first, one.case.zone, one.case.closures)
    if last is not None and last < first.astimezone(zone_named(one.case.zone)).date():
        first = at_hour(last, CLOSING_HOUR, one.case.zone)
    return first, name


def _what_to_do(days: tuple[datetime, datetime | None], now: datetime, zone: str, *, frozen: bool) -> str:
    """One line for one box, from the day it must be opened by and the day it is planned to be."""
    open_by, open_at = days
    if frozen:
        return "leave it shut, call the conservator"
    if open_by <= now:
        return "open today, or ask the conservator"
    by = _day(open_by, zone)
    if open_at is None:
        return f"open by {by}"
    if open_at <= open_by:
        return f"open as planned, {_day(open_at, zone)}"
    return f"open by {by}, not {_day(open_at, zone)}"


def _day(at: datetime, zone: str) -> str:
    return day_for_people(day_at(at, zone)).rsplit(" ", 1)[0]


def _acts(
    office: Office, store: Thing, record: StoreRecord, boxes: Sequence[BoxTold], choices: Choices
) -> tuple[str, ...]:
    """What to do now, in the order of doing.

    Source: tables/data/store_acts.csv, judgement.
    """
    policy, call_h = choices.policy, spell_figure("call_hours")
    harmed = [box for box in boxes if box.frozen or box.warm_hours >= policy.warm_spell_h]
    still_warm = record.still_warm or any(item.ends is None for item in record.failures)
    holds_true = {
        "still warm": still_warm and any(box.kept != "dry" for box in boxes),
        "frozen": any(box.frozen for box in boxes),
        "long": any(box.warm_hours > call_h for box in boxes),
        "any": bool(harmed),
        "cause": bool(harmed),
    }
    words = {"cold": _colder_stores(office, store, policy), "hours": f"{call_h:g}"}
    return tuple(row["text"].format(**words) for row in table("store_acts").rows if holds_true[row["when"]])


def _tell(office: Office, asked: Sequence[str]) -> tuple[str, ...]:
    """The conservators with their telephones, when anything asked for needs one."""
    if not any("conservator" in line for line in asked):
        return ()
    return tuple(whom_to_call([person.facts for person in office.ledger.states("person")], ("conservator",)))


def _colder_stores(office: Office, store: Thing, policy: Policy) -> str:
    """Stores that are cold enough and not in trouble themselves, coldest first."""
    fit = []
    for other in office.ledger.states("store", UNIT):
        facts = other.facts
        temp_c = facts.get("temp_c")
        trouble = any(item["to"] is None for item in facts.get("failures", []))
        trouble = trouble or any(log["still_warm"] for log in facts.get("logs", [])[-1:])
        if other.number != store.number and temp_c is not None and policy.freeze_c < temp_c <= policy.warm_c:
            fit += [] if trouble else [(temp_c, other.number)]
    names = " or ".join(f"{name} ({temp_c:g} °C)" for temp_c, name in sorted(fit))
    return names or "another cold store (none is entered that is cold enough)"
