"""Plans and forecasts as text for a person: what to take, how wet, how long, and what to do."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from findhold.cli import screen
from findhold.cli import telling_care as care
from findhold.cli.telling_cushion import tell_cushion, tell_cut, tell_support
from findhold.rounding import mass_places, told_band, told_mass, told_parts, told_span


def tell_plan(shape: dict[str, Any], *, full: bool = False) -> None:
    """A plan, from its public shape; `full` leaves nothing out."""
    head = f"Find {shape['find']}" if str(shape["find"]).isdigit() else str(shape["find"])
    screen.say(f"{head}: {_box_words(shape)}", style="bold")
    if shape["box"] is None and shape["binding"]:
        screen.say(f"STOP {shape['binding'][:1].upper()}{shape['binding'][1:]}", style=screen.ACT)
    care.tell_stops(shape["conflicts"])
    if shape["dose_over_g"]:
        screen.say(_too_wet(shape), style=screen.ACT)
    gap = shape["clearance_mm"]
    dose = shape["dose_band"]
    screen.facts(
        [
            ("keep", {"waterlogged": "wet"}.get(shape["kept"], shape["kept"])),
            ("flags", ", ".join(shape["flags"]).upper()),
            ("barrier", _barrier_words(shape)),
            ("turn", shape["turn_words"]),
            ("clear", _gap_words(gap) if gap else None),
            ("binding", shape["binding"] if shape["box"] else None),
            ("next best", shape["runner_up"]),
            ("dose", _dose_words(shape, dose)),
            ("packed mass", _mass_words(shape) if shape["gross_mass_kg"] else None),
            ("make or buy", shape["make"]),
        ]
    )
    for layer in shape["layers"]:
        thick = f"{layer['thickness_mm']:g} mm" if layer["thickness_mm"] >= 1 else ""
        screen.say(f"  {layer['place']:<8}{thick:>7}  {layer['name']}{_sheet_words(layer)}")
    tell_cut(shape["cut_lines"], full=full)
    tell_support(shape.get("support"))
    tell_cushion(shape.get("cushion"))
    care.tell_first_aid(shape["first_aid"], full=full)
    care.tell_order(shape["order"], full=full)
    care.tell_blanks(shape["controls"], full=full)
    care.tell_conflicts(shape["conflicts"], full=full)
    for warning in shape["warnings"]:
        screen.say(f"! {warning}")
    for question in shape["questions"]:
        if not question["about"].startswith(care.SETTLED_WITH_CONFLICT):
            screen.say(f"? {question['text']}", style=screen.ACT)
    _tell_making(shape, full=full)


def _tell_making(shape: dict[str, Any], *, full: bool) -> None:
    """Boards a box could be made of, those it is not, and the boxes that were passed over."""
    for option in shape["make_options"]:
        screen.say(f"  {option['text']}")
    for why in shape["make_declined"]:
        screen.say(f"  {why}")
    if (full or shape["box"] is None) and shape["rejected"]:
        screen.say("Boxes not taken:")
        for item in shape["rejected"][: None if full else 12]:
            screen.say(f"  {item['box']}: {item['why']}")


def _barrier_words(shape: dict[str, Any]) -> str:
    """The barrier, and where it comes from when it was not asked for just now."""
    since = shape.get("barrier_from") or shape["barrier_why"]
    return f"{shape['barrier'] or ''}{f' ({since})' if since else ''}"


def _mass_words(shape: dict[str, Any]) -> str:
    """The packed mass and what it is made up of, adding up as printed."""
    gross_kg, parts = shape["gross_mass_kg"], shape["masses"]
    told = told_parts([part["mass_kg"] for part in parts], mass_places(gross_kg))
    water, edges = shape["bag_water_g"], ""
    if water is not None:
        less, more = (water["best"] - water["low"]) / 1000.0, (water["high"] - water["best"]) / 1000.0
        edges = f" ({told_span(gross_kg - less, gross_kg + more)}, by the water it takes)"
    return f"{told_mass(gross_kg)}{edges}: " + ", ".join(
        f"{part['name']} {kg}" for part, kg in zip(parts, told, strict=True)
    )


SHORT = 4
"""So many assumptions are shown unless all are asked for."""


def tell_keep(shape: dict[str, Any], *, with_find: bool, full: bool = False) -> None:
    """A forecast, from its public shape."""
    head = f"Find {shape['find']}, box {shape['box_id']}" if with_find else shape["title"]
    screen.say(head, style="bold")
    until, verdict = _day(shape["keep_until"]), shape["can_keep"]
    screen.say(f"Keep until {until}: {shape['governing_limit']} governs.", style="bold" if verdict else screen.ACT)
    _tell_opening(shape, verdict)
    screen.table(
        ["limit", "low", "best", "high"],
        [
            [item["name"], _day(item["date_low"]), _day(item["date_best"]), _day(item["date_high"])]
            for item in shape["limits"]
        ],
    )
    loss, growth = shape["water_loss_g"], shape["growth_index_at_open"]
    screen.facts(
        [
            ("water lost", f"{_three(loss, '.2f')} g by {_day(shape['figures_at'])}"),
            *((f"growth, {name}", f"{_three(band, '.2f')} (1 = first, 3 = visible)") for name, band in growth.items()),
            ("keep", {"waterlogged": "wet"}.get(shape["kept"], shape["kept"])),
            ("below 8 °C", _hours(shape["hours_to_below_8c"])),
            ("decides", shape["dominant"]),
        ]
    )
    _tell_masses(shape["mass_band"])
    for option in shape["options"]:
        screen.say(f"- {option['text']}")
    for note in shape["notes"]:
        screen.say(f"! {note}")
    shown = shape["assumptions"] if full else shape["assumptions"][:SHORT]
    for line in shown:
        screen.say(f"  assumed: {line}", style="dim")
    if len(shown) < len(shape["assumptions"]):
        screen.say(f"  and {len(shape['assumptions']) - len(shown)} more assumptions: --full shows them", style="dim")


def _tell_masses(bands: list[dict[str, Any]]) -> None:
    """The mass to expect at each check."""
    if not bands:
        return
    screen.say("Checks, with the mass to expect [kg]:")
    screen.table(
        ["when", "low", "best", "high"],
        [[_when(band["at"]), *told_band(band["low_kg"], band["best_kg"], band["high_kg"])] for band in bands],
        right=("low", "best", "high"),
    )


def _tell_opening(shape: dict[str, Any], verdict: bool | None) -> None:
    """What the keep-until date means for the days when somebody is there, and for the planned opening."""
    if shape["open_by"] and shape["open_by"] != shape["keep_until"][:10]:
        screen.say(f"The last open day before it is {_day(shape['open_by'])}.")
    if shape["after_spell"]:
        later = shape["after_spell"]
        screen.say(
            f"If the place is right again, {later['limit']} is next: {_day(later['date'])}. Ask the conservator."
        )
    if shape["open_at"] and verdict is not None:
        words = "is in time" if verdict else "is too late"
        screen.say(f"The opening planned for {_day(shape['open_at'])} {words}.")
    if shape["opening_closed"]:
        screen.say(f"It falls in a closure ({shape['opening_closed']}): book another day.", style=screen.ACT)


def _box_words(shape: dict[str, Any]) -> str:
    if shape["box"] is None:
        return "no box in stock fits" if shape["make"] else str(shape.get("no_box") or "no box in stock fits")
    words = str(shape["box_called"])
    if shape.get("box_id"):
        words += f" becomes {shape['box_id']}"
    return words + (" (STOPPED)" if shape["stopped"] else "")


def _sheet_words(layer: dict[str, Any]) -> str:
    """How many sheets a layer takes, and how much water goes on to them."""
    many = layer["sheets"]
    if not many:
        return ""
    water = f", {layer['water_g']:.0f} g of water" if layer["water_g"] else ""
    return f": {many} sheet{'' if many == 1 else 's'}{water}"


def _gap_words(gap: dict[str, float]) -> str:
    return (
        f"{gap['side_l']:g} mm at each end, {gap['side_w']:g} mm each side, bed {gap['bed']:g} mm, "
        f"lid gap {gap['lid_gap']:g} mm"
    )


def _too_wet(shape: dict[str, Any]) -> str:
    """That the stated dose passes its limit, before anything else is told."""
    return (
        f"TOO WET The stated dose is {shape['dose_over_g']:.1f} g a sheet over the limit of "
        f"{shape['dose_band']['upper_limit']:.1f} g: it will drip. Ask who stated it, or leave it out."
    )


def _dose_words(shape: dict[str, Any], dose: dict[str, float]) -> str | None:
    if shape["dose_way"] == "sheets" and shape["sheets"]:
        many = "" if shape["sheets"] == 1 else "s"
        if shape["dose_over_g"]:
            return (
                f"{shape['sheets']} sheet{many}, STATED {shape['dose_g_per_sheet']:.1f} g of water each, too much: "
                f"{dose['low']:.1f} to {dose['high']:.1f} will do; {shape['dose_g']:.0f} g in all"
            )
        return (
            f"{shape['sheets']} sheet{many}, {shape['dose_g_per_sheet']:.1f} g of water each ({dose['low']:.1f} to "
            f"{dose['high']:.1f}; never above {dose['upper_limit']:.1f}), {shape['dose_g']:.0f} g in all"
        )
    if shape["dose_g"]:
        return f"{shape['dose_g']:.0f} g of water into the bag"
    if any(question["about"] == "water_g_per_g" for question in shape["questions"]):
        return "not computed for this wrapping: as damp as the find, never dripping; ask the conservator"
    return "none" if shape["dose_way"] == "none" else None


def _three(band: dict[str, float], form: str) -> str:
    return f"{format(band['best'], form)} ({format(band['low'], form)} to {format(band['high'], form)})"


def _hours(hours: float | None) -> str:
    return "not reached in this place" if hours is None else f"after {hours:.0f} h"


def _day(text: str | None) -> str:
    return "not reached" if text is None else f"{datetime.fromisoformat(text):%a %-d %b %Y}"


def _when(text: str) -> str:
    return f"{datetime.fromisoformat(text):%a %-d %b, %H:%M}"
