"""One check of one box at the store: weighed, looked at, photographed when something is wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from findhold.service.bench.answer_words import for_page
from findhold.service.bench.clock import DeviceClock, Moment, moment
from findhold.service.bench.codes import hold_of_code
from findhold.service.bench.photos import PhotoRequest, keep_on_hold
from findhold.service.office import Office
from findhold.service.weighing import MassQuestion, WeighRequest, mass_question, weigh
from findhold.store.ledger import Thing


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRequest:
    """A check as done: the box by any of its codes, the mass as typed, what was seen; a photograph's bytes or None.

    mass : "" when it was looked at and not weighed.
    why : why a first mass that is far from the plan is right all the same.
    """

    box: str
    mass: str
    look: str
    wiped: bool | None = None
    opened: bool = False
    water_g: float = 0.0
    note: str = ""
    why: str = ""
    site: str | None = None
    photo: bytes | None = None
    keep_details: bool = False
    clock: DeviceClock | None = None
    members: int = 1000


def check_box(office: Office, request: CheckRequest) -> dict[str, Any]:
    """Record a check and say at once: right, watch or act, with what to do and whom to tell.

    Returns
    -------
    The public shape of `weigh --json`, worded for a page, with the photograph kept.

    Raises
    ------
    BadInput : no such box, neither mass nor look, a look that is not known, a picture that cannot be read; nothing is
    recorded then.
    """
    hold = hold_of_code(office, request.box, request.site)
    when = moment(office, request.clock)
    photo = None
    if request.photo:
        asked = PhotoRequest(
            data=request.photo,
            about=f"{request.look} at a check",
            note=request.note,
            keep_details=request.keep_details,
            moment=when,
        )
        photo = keep_on_hold(office, hold, asked)
    done = weigh(office, _weighing(hold, request, when))
    return {**on_page(done.shape), "photo": photo}


def check_question(office: Office, request: CheckRequest) -> MassQuestion | None:
    """What to ask about the mass of a check before it is recorded; None when there is nothing to ask."""
    hold = hold_of_code(office, request.box, request.site)
    return mass_question(office, _weighing(hold, request, moment(office, request.clock)))


def _weighing(hold: Thing, request: CheckRequest, when: Moment) -> WeighRequest:
    return WeighRequest(
        box=hold.facts["box_id"],
        mass=request.mass,
        at=when.at.isoformat(timespec="seconds"),
        wiped=request.wiped,
        opened=request.opened,
        water_g=request.water_g,
        look=request.look,
        note=request.note,
        why=request.why,
        site=hold.stream.split("/")[1],
        members=request.members,
        clock=when.clock,
    )


def on_page(shape: dict[str, Any]) -> dict[str, Any]:
    """A weighing's answer in the words of the pages."""
    return {**shape, **{part: [for_page(line) for line in shape[part]] for part in ("says", "do", "notes")}}
