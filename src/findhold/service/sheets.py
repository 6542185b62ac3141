"""A find's sheet: everything a visitor would ask about one find, from what was recorded."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from typing import Any, Literal

from findhold.dates.instants import for_people
from findhold.errors import BadInput, UnknownName
from findhold.record.events import Event, stream_of
from findhold.service.checks_made import days_weighed
from findhold.service.choices import read_choices
from findhold.service.finder import StoryLine
from findhold.service.office import Office
from findhold.service.recorded import closures_for, next_words, recorded_case, section_svg, strip_svg
from findhold.service.seen_amiss import VOID, SeenAmiss, seen_amiss
from findhold.service.showing.still_so import labels_outdated, plan_outdated
from findhold.service.storytelling import told
from findhold.store.ledger import Thing
from findhold.store.lookup import FindsAsked, finds_page, hold_of_find, samples_of_find, story_tail

NEAR = 100
STORY_LINES = 40
MOST_SAMPLES = 40

Urgency = Literal["act", "watch", "right", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """What to do next, in one sentence, and how it stands: act, watch, right or none (nothing is known yet)."""

    urgency: Urgency
    word: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLine:
    """One planned check: when, why, the mass to expect, and the weighing of its day (None: none).

    late : nobody came, and nobody did since. missed : nobody came, and a later weighing made up for it.
    """

    at: str
    reason: str
    band: dict[str, Any] | None
    done: dict[str, Any] | None
    late: bool
    missed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One find as it stands. `hold` None before its box was planned; drawings as SVG, None where there is none."""

    site: str
    site_name: str
    zone: str
    grid: str
    vertical_datum: str
    number: str
    symbol: str
    facts: dict[str, Any]
    hold: dict[str, Any] | None
    next: NextStep
    amiss: SeenAmiss | None
    """What was seen amiss, which stands before the forecast's date."""
    outdated: str
    """Why its plan is for other facts than those that stand now; "" while it stands."""
    labels_outdated: str
    section_svg: str | None
    section_trouble: str | None
    strip_svg: str | None
    checks: tuple[CheckLine, ...]
    weighings: tuple[dict[str, Any], ...]
    samples: tuple[dict[str, Any], ...]
    context: dict[str, Any] | None
    story: tuple[StoryLine, ...]
    earlier: int | None
    """Where the story before the lines shown begins; None when all of it is shown."""
    now: datetime


def find_sheet(office: Office, number: str, site_code: str | None = None, *, before: int | None = None) -> Sheet:
    """A find's sheet.

    Parameters
    ----------
    number : as people say it. before : shows the story from here back, instead of its newest lines.

    Raises
    ------
    UnknownName : there is no such find.
    """
    site = office.site(site_code)
    wanted = number.strip().strip("[]()<>△").strip()
    with office.ledger.reading() as connection:
        find = office.ledger.state(stream_of("find", site.number, wanted))
        if find is None:
            raise UnknownName("find", wanted, near_finds(office, site.number, wanted), where=f"site {site.number}")
        hold = hold_of_find(connection, site.number, find.number)
        samples = samples_of_find(connection, site.number, find.number, MOST_SAMPLES)
        streams = [find.stream, *([hold.stream] if hold else [])]
        tail = story_tail(connection, streams, before=before, limit=STORY_LINES + 1)
    context = find.facts.get("context")
    place = office.ledger.state(stream_of("context", site.number, context)) if context else None
    now = office.in_site_zone(office.now(), site)
    return Sheet(
        site=site.number,
        site_name=str(site.facts["name"]),
        zone=str(site.facts["zone"]),
        grid=str(site.facts["grid"]),
        vertical_datum=str(site.facts["vertical_datum"]),
        number=find.number,
        symbol=_symbol(find),
        facts=find.facts,
        hold=hold.facts if hold else None,
        samples=tuple(sample.facts for sample in samples),
        context=place.facts if place else None,
        story=tuple(_line(event) for _, event in tail[:STORY_LINES]),
        earlier=tail[STORY_LINES - 1][0] if len(tail) > STORY_LINES else None,
        now=now,
        **_held(office, site, find, hold, now),
    )


def near_finds(office: Office, site: str, wanted: str) -> list[str]:
    """Numbers to offer when one does not exist: the first ones of the site and those that are counted near it."""
    digits = re.match(r"\d{1,9}", wanted)
    near = max(0, int(digits[0]) - NEAR // 2) if digits else 0
    with office.ledger.reading() as connection:
        first = finds_page(connection, FindsAsked(site=site, limit=4 * NEAR))
        about = finds_page(connection, FindsAsked(site=site, after=(near, ""), limit=NEAR)) if near else []
    return list(dict.fromkeys(find.number for find in (*first, *about)))


def _held(office: Office, site: Thing, find: Thing, hold: Thing | None, now: datetime) -> dict[str, Any]:
    """The parts of a sheet that come with a hold."""
    if hold is None:
        return {
            "next": _before_box(find),
            "amiss": None,
            "outdated": "",
            "labels_outdated": "",
            "section_svg": None,
            "section_trouble": None,
            "strip_svg": None,
            "checks": (),
            "weighings": (),
        }
    drawing, trouble = _section(find, hold)
    zone = str(site.facts["zone"])
    seen = recorded_case(hold.facts, zone, closures_for(office, find.facts.get("store")))
    checks = _checks(hold.facts, now)
    if seen is None:
        step = NextStep(
            urgency="watch", word="no forecast", words="Forecast it: nothing says yet how long it may wait."
        )
    else:
        step = _step(hold.facts, checks, next_words(*seen, now), now, zone)
    if hold.facts.get("ended"):
        step, checks = _ended_step(hold.facts["ended"], zone), ()
    return {
        "next": step,
        "amiss": seen_amiss(hold.facts, zone),
        "outdated": plan_outdated(find.facts, hold.facts),
        "labels_outdated": labels_outdated(find.facts, hold.facts, zone),
        "section_svg": drawing,
        "section_trouble": trouble,
        "strip_svg": strip_svg(*seen, now, void=hold.facts.get("alarm") == VOID) if seen else None,
        "checks": checks,
        "weighings": tuple(reversed(hold.facts.get("weighings", ()))),
    }


def _section(find: Thing, hold: Thing) -> tuple[str | None, str | None]:
    """The drawing of a packed box, or why there is none."""
    try:
        return section_svg(find.number, hold.facts), None
    except BadInput as error:
        return None, error.sentence()


def _ended_step(ended: dict[str, Any], zone: str) -> NextStep:
    when = for_people(datetime.fromisoformat(ended["at"]), zone)
    reason = f" ({ended['reason']})" if ended.get("reason") else ""
    words = f"Its hold has ended: {ended['how']} on {when} by {ended['by']}{reason}. Nothing waits in its box."
    return NextStep(urgency="right", word=ended["how"], words=words)


def _before_box(find: Thing) -> NextStep:
    if find.facts.get("state") in ("damp", "waterlogged"):
        words = f"Plan its box: it is {find.facts['state']} and waits without a date."
        return NextStep(urgency="act", word="no box", words=words)
    return NextStep(urgency="none", word="no box", words="No box is planned for it.")


def _step(facts: dict[str, Any], checks: tuple[CheckLine, ...], by_plan: str, now: datetime, zone: str) -> NextStep:
    """What comes first: what was seen, what has passed, what is late, then what the forecast says."""
    forecast = facts["forecast"]
    if facts.get("alarm"):
        words = f"{str(facts['alarm']).capitalize()} was seen: tell the conservator now, and look again."
        return NextStep(urgency="act", word=f"{facts['alarm']} seen", words=words)
    if now > datetime.fromisoformat(forecast["keep_until"]):
        return NextStep(urgency="act", word="kept too long", words=by_plan)
    late = [check for check in checks if check.late]
    if late:
        when = for_people(datetime.fromisoformat(late[-1].at), zone)
        return NextStep(urgency="act", word="check is late", words=f"Weigh it and look: its check of {when} is late.")
    if forecast["can_keep"] is False:
        return NextStep(urgency="act", word="opening too late", words=by_plan)
    if forecast["can_keep"] is None or forecast.get("opening_closed"):
        return NextStep(urgency="watch", word="opening to be settled", words=by_plan)
    return NextStep(urgency="right", word="in time", words=by_plan)


def _checks(facts: dict[str, Any], now: datetime) -> tuple[CheckLine, ...]:
    """Planned checks with the weighing of their day; one of a later day makes up for those before it."""
    forecast = facts["forecast"] if facts.get("forecast") else {"checks": (), "mass_band": ()}
    bands = {band["at"]: band for band in forecast["mass_band"]}
    made = days_weighed(facts, now.tzinfo or UTC)
    last = max((datetime.fromisoformat(row["at"]) for row in facts.get("weighings", ())), default=None)
    lines = []
    for check in forecast["checks"]:
        at = datetime.fromisoformat(check["at"])
        done = made.get(at.astimezone(now.tzinfo).date())
        behind = done is None and at < now
        made_up = last is not None and last >= at
        lines.append(
            CheckLine(
                at=check["at"],
                reason=check["reason"],
                band=bands.get(check["at"]),
                done=done,
                late=behind and not made_up,
                missed=behind and made_up,
            )
        )
    return tuple(lines)


def _symbol(find: Thing) -> str:
    kind = find.facts.get("kind") or "registered"
    symbols = read_choices().numbers
    return str(symbols.registered) if kind == "registered" else "square"


def _line(event: Event) -> StoryLine:
    return StoryLine(
        at=event.at.astimezone(timezone(timedelta(minutes=event.offset_min))).isoformat(timespec="minutes"),
        person=event.person,
        word=event.word,
        meaning=told(event),
        body={},
        hash=event.hash,
    )
