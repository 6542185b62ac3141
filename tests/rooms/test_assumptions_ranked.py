"""Assumptions: what decides most first, on the first page of the sheet; the rest on its back."""

from types import SimpleNamespace

from findhold.keep.forecast import Driver
from findhold.service.answers import assumptions_of


def kept(assumed, told, planned, drivers):
    forecast = SimpleNamespace(assumptions=told, drivers=drivers)
    return SimpleNamespace(assumed=assumed, forecast=forecast, plan=SimpleNamespace(assumptions=planned))


DRIVERS = (
    Driver(result="growth", input="how fast growth really is", share=0.8),
    Driver(result="growth", input="temperature of the place", share=0.2),
)


def test_times_nobody_stated_come_first_then_what_the_result_follows():
    told = assumptions_of(
        kept(
            ("Foam is taken at 35.2 kg/m³.", "Packing time: now, because the register gives none."),
            ("temperature of the place known to 1.5 K", "growth may be quicker or slower by a factor of 2"),
            ("A sheet weighs 6.75 g dry.",),
            DRIVERS,
        )
    )
    assert told == (
        "Packing time: now, because the register gives none.",
        "growth may be quicker or slower by a factor of 2",
        "temperature of the place known to 1.5 K",
        "Foam is taken at 35.2 kg/m³.",
        "A sheet weighs 6.75 g dry.",
    )


def test_nothing_is_lost_and_without_drivers_nothing_moves():
    said = ("b is taken.", "a is taken.")
    assert assumptions_of(kept(said, (), ("c",), ())) == (*said, "c")
