"""The words of a check's answer, as data: the same for the page made here and for a device that answers by itself."""

from __future__ import annotations

from typing import Any

from findhold.check.reading import looks, rule
from findhold.check.weighing import FIRST_AGAIN, NOT_WEIGHED, causes_of, judge_gap, judge_look
from findhold.service.office import Office
from findhold.service.weighed import TYPED_WRONG
from findhold.service.whom_to_call import whom_to_call

LOOKS: dict[str, str] = {
    "right": "damp as packed, nothing grows",
    "dry": "tissue or soil pale and stiff",
    "dripping": "drops under the lid, water stands",
    "mould": "fur, spots or a smell",
}
"""What each look means to somebody in front of the box."""
_FIELDS = {
    " (say so with --balance)": "",
    "with --opened and --water": "under “opened, water”",
    "; say so with --opened next time": "; tick “the lid was off” next time",
    "; say so with --wiped": "; answer “wiped dry: yes”",
    " with --opened": " under “opened, water”",
    " (--why)": "",
    " (--wiped)": "",
    " (--look)": "",
    ", or give the right time with --at": "",
}


def look_choices() -> tuple[tuple[str, str], ...]:
    """The looks to choose from with what each means, the good one first."""
    return tuple((look, LOOKS[look]) for look in sorted(looks(), key=list(LOOKS).index))


def mass_shares() -> tuple[float, float]:
    """How far a mass may be off the plan before it is asked about: the first one, and any later one."""
    return rule("first_share"), rule("planned_share")


def answer_words(office: Office) -> dict[str, Any]:
    """What a device says for each answer; {low}, {high}, {off} and {way} are figures it fills in."""
    missed = judge_gap(1)
    first_share, planned_share = mass_shares()
    return {
        **_tell_words(office),
        "looks": {look: _look_words(look) for look in looks()},
        "typed_wrong": [*TYPED_WRONG, "before"],
        "right": "It should weigh {low} to {high}: right.",
        "first": "First weighing: it sets the mass of the box.",
        "watch": "It should weigh {low} to {high}; this is {off} {way} than expected.",
        "act": "It should weigh {low} to {high}; this is {off} {way} than expected.",
        "first_act": "First weighing, and far {way} than planned ({best}): it sets no mass until a second agrees.",
        "first_do": for_page(FIRST_AGAIN),
        "explained": "First weighing, and far {way} than planned ({best}). It counts, for you said why.",
        "first_share": first_share,
        "planned_share": planned_share,
        "watch_do": "Weigh it again cold and wiped, now or at the next check.",
        "causes": {way: [for_page(cause.do) for cause in causes_of(way)] for way in ("lighter", "heavier")},
        "loss": "More water is lost since packing than a sound lid lets out.",
        "missed": "1 planned check was missed before this one.",
        "missed_many": "{count} planned checks were missed before this one.",
        "missed_do": [] if missed is None else list(missed.do),
        "passed": "By the forecast before this weighing it may wait until {date}, which has passed: so take it, until"
        " the ledger answers, which reckons it anew.",
        "passed_do": "Ask the conservator today; bring the opening forward.",
        "older": "A later weighing is recorded already: check the time.",
        "before": "This is before the lid was closed: check the time.",
        "unit": "It is a thousand times off what it should weigh: type it again with its unit, kg or g.",
        "twice": "Just this weighing is recorded already.",
        "not_weighed": NOT_WEIGHED.says,
        "open": "Opened or given water, so its mass is not checked here. It is kept; the answer follows.",
        "unknown": "Not checked here: this device does not know what it should weigh. It is kept; the answer follows.",
    }


def _tell_words(office: Office) -> dict[str, Any]:
    """Whom a look, and an answer to act on, asks to call."""
    people = [thing.facts for thing in office.ledger.states("person")]
    return {
        "tell": {look: whom_to_call(people, judge_look(look).tell) for look in looks()},
        "tell_act": whom_to_call(people, ("conservator",)),
    }


def _look_words(look: str) -> dict[str, Any]:
    """What a look asks for: its word, and what to do for a box kept damp and for one under water."""
    seen, wet = judge_look(look), judge_look(look, "waterlogged")
    told = {"do": [for_page(line) for line in seen.do], "do_wet": [for_page(line) for line in wet.do]}
    return {"word": seen.word, **told}


def for_page(text: str) -> str:
    """A sentence of the weighing room with the fields of the page in place of the options of the command line."""
    for option, field in _FIELDS.items():
        text = text.replace(option, field)
    return text
