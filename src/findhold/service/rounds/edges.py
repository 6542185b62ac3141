"""Masses that are right, and beyond which to act, at the instant of a round: the thresholds that `weigh` judges by."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from findhold.errors import FindholdError
from findhold.service.bench.kits import STEPS_G, check_kit
from findhold.service.ledger_case import Shelves
from findhold.service.office import Office

_G_PER_KG = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Edges:
    """The band and the act masses as they are printed; empty where nothing is expected."""

    right: str
    act: str


def edges_at(office: Office, stream: str, shelf: Shelves, at: datetime) -> Edges:
    """What a box should weigh at an instant, cold and wiped, on the balance it was last weighed on."""
    hold = office.ledger.state(stream)
    if hold is None:
        raise RuntimeError(f"{stream} was listed and is not there")
    try:
        kit = check_kit(office, hold, shelf, at)
    except FindholdError:  # the box cannot be reckoned: the sheet is made all the same, with nothing to expect
        return Edges(right="", act="")
    if kit.edges_g is None:
        return Edges(right="", act="")
    step_g = min(STEPS_G, key=lambda step: abs(step - (kit.balance_g or 1.0)))
    rows = np.array(kit.edges_g[f"yes {step_g:g}"]) / _G_PER_KG
    low_act, low, best, high, high_act = (
        float(np.interp(at.timestamp(), kit.at_s, rows[:, side])) for side in range(5)
    )
    places = 4 if step_g < 1.0 else 3
    # Inwards to the balance's digit, so that what reads right on paper is right for `weigh` too.
    act = f"act below {_up(low_act, places):.{places}f} or above {_down(high_act, places):.{places}f}"
    if kit.first:
        act = f"first weighing: it sets the mass (plan {best:.{places}f})"
    return Edges(right=f"{_up(low, places):.{places}f} – {_down(high, places):.{places}f}", act=act)


def _up(mass_kg: float, places: int) -> float:
    return math.ceil(mass_kg * 10.0**places - 1e-9) / 10.0**places


def _down(mass_kg: float, places: int) -> float:
    return math.floor(mass_kg * 10.0**places + 1e-9) / 10.0**places
