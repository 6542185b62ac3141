"""A scenario file as a case: stock and logger read, everything taken without being stated said in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from findhold.errors import BadInput, Mistakes, UnknownName
from findhold.keep.inputs import Climate
from findhold.lift.measured.block import MeasuredBlock
from findhold.pack.inputs import MEASURED, PlanInputs, StockBox
from findhold.pack.tare import empty_box_kg
from findhold.register.intake import Known, intake
from findhold.register.mapping import propose
from findhold.register.readfile import read_sheet
from findhold.register.rules import SiteFacts
from findhold.service.case import Case
from findhold.service.choices import read_choices
from findhold.service.logger import logged_climate
from findhold.service.packing.cushioning import with_cushion
from findhold.service.packing.scanning import measured_facts, scan_of_scenario
from findhold.service.scenario import Scenario
from findhold.service.settled import barrier_asked

FIND_TEMP_C = 18.0
"""Temperature of a find at packing when nobody measured it (judgement: a summer's day in the finds hut)."""

WALL, WALL_MM = "PP", 1.2
"""Wall of a stock box that does not state one (judgement), always said as an assumption."""
_SURE = 0.1
"""A measured volume whose edges are further apart than this share is not used for what stands in the block."""
COLD_STORE_C = 4.0
"""Temperature at which dose and bed are worked out when no place is stated (common practice for cold stores)."""


def case_of_scenario(scenario: Scenario) -> Case:
    """The case a scenario file describes.

    Raises
    ------
    BadInput, Mistakes, UnknownName : the stock or logger file cannot be used, or a box is not in it.
    """
    assumed: list[str] = []
    scenario, measured = _scanned(scenario)
    choices = read_choices()
    boxes = _stock(scenario)
    stock = tuple(stock_box(facts) for facts in boxes)
    assumed += taken_for_boxes(boxes)
    box = _box(scenario, stock, assumed)
    hold, find = scenario.hold, scenario.find
    packed_at: datetime | None = hold.get("packed_at")
    climate = _climate(scenario, packed_at)
    if "find_temp_c" not in hold:
        assumed.append(f"The find is taken at {FIND_TEMP_C:g} °C when packed (find_temp_c was not stated; judgement).")
    exposed_at = find.get("exposed_at")
    if exposed_at is None and packed_at is not None:
        exposed_at = packed_at
        assumed.append("Exposed when packed (exposed_at was not stated): if it was earlier, every limit is earlier.")
    case = Case(
        title=scenario.title,
        plan=replace(_plan_inputs(scenario, stock), defaults=choices.packing),
        climate=climate,
        exposed_at=exposed_at,
        packed_at=packed_at,
        open_at=hold.get("open_at"),
        find_temp_c=hold.get("find_temp_c", FIND_TEMP_C),
        zone=_zone(packed_at),
        box=box,
        closure=scenario.box.get("closure", "lid"),
        openings=tuple(hold["openings"]),
        policy=choices.policy,
        deadlines=tuple(scenario.deadlines.items()),
        assumed=tuple(assumed),
        lift=scenario.lift,
        measured=measured,
    )
    return with_cushion(case, scenario.cushion, scenario.folder, ring_foot_mm=scenario.find.get("ring_foot_mm"))


def _scanned(scenario: Scenario) -> tuple[Scenario, MeasuredBlock | None]:
    """The scenario with the sizes, profile and outlines of its scan, and the block measured from it."""
    find = scenario.find
    if "scan" not in find:
        return scenario, None
    both = [key for key in ("block_mm", "profile_mm") if key in find]
    if both:
        do = f"Leave out scan, or {' and '.join(both)}"
        raise BadInput(f"a scan and {' and '.join(both)} are both given", where="[find]", do=do)
    block = scan_of_scenario(find, scenario.path(find["scan"]), scenario.title)
    facts = measured_facts(block)
    sizes = [facts.pop(f"{side}_mm") for side in ("length", "width", "height")]
    volumes = {"volume_l": block.volume_l, "volume_low_l": block.volume_low_l, "volume_high_l": block.volume_high_l}
    return replace(scenario, find={**find, "block_mm": sizes, **facts, "measured": volumes}), block


def _plan_inputs(scenario: Scenario, stock: tuple[StockBox, ...]) -> PlanInputs:
    find = scenario.find
    wrapping = scenario.wrapping
    return PlanInputs(
        find=scenario.title,
        material=find["material"],
        state=find["state"],
        block_mm=tuple(find["block_mm"]),
        mass_kg=find.get("mass_kg"),
        soil=find.get("soil"),
        water_content=find.get("water_content"),
        analyses=tuple(find.get("analyses", ())),
        parts=tuple(find.get("parts", ())),
        acts=tuple(find.get("done", ())),
        wanted_order=tuple(_pair(text) for text in find.get("order", ())),
        dated=tuple(scenario.dates.items()),
        stock=stock,
        sheets=None if "sheets" not in wrapping else int(wrapping["sheets"]),
        sheet_dry_g=wrapping.get("sheet_dry_g"),
        water_g_per_g=wrapping.get("water_g_per_g"),
        wrapping=wrapping.get("material", "tissue"),
        **barrier_asked(wrapping.get("barrier")),
        lid_water_g=wrapping.get("lid_water_g"),
        temp_c=dose_temp_c(scenario.surroundings.get("temp_c", COLD_STORE_C)),
        **measured_fields(find if "cog_mm" in find else {**find, "cog_mm": scenario.lift.get("cog_mm")}),
    )


def measured_fields(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Profile, outlines and centre of gravity as plan inputs, of the facts that are there."""
    given = {name: facts[name] for name in MEASURED if facts.get(name)}
    points = {
        name: tuple(tuple(float(x) for x in row) for row in value) for name, value in given.items() if name != "cog_mm"
    }
    centre = {"cog_mm": tuple(float(x) for x in given["cog_mm"])} if "cog_mm" in given else {}
    measured = facts.get("measured") or {}
    low, high = (measured.get(name) for name in ("volume_low_l", "volume_high_l"))
    band = None if low is None or high is None else (float(low), float(high))
    return {**points, **centre, "volume_l": _sure_volume_l(measured), "volume_band_l": band}


def _sure_volume_l(measured: Mapping[str, Any]) -> float | None:
    """The volume measured [L], when it is one figure: not that of a hollow thing, nor one between wide edges."""
    low, best, high = (measured.get(name) for name in ("volume_low_l", "volume_l", "volume_high_l"))
    if low is None or best is None or high is None or high - low > _SURE * high:
        return None
    return float(best)


def _pair(text: str) -> tuple[str, str]:
    """What comes first and what later, of an "imaging before lipid"."""
    first, _, later = text.partition(" before ")
    return first.strip(), later.strip()


def dose_temp_c(temp_c: float) -> float:
    """Temperature at which the dose is worked out, never below freezing: the forecast judges a frosty place."""
    return min(max(temp_c, 0.0), 40.0)


def _stock(scenario: Scenario) -> tuple[dict[str, object], ...]:
    if "file" not in scenario.stock:
        return ()
    path = scenario.path(scenario.stock["file"])
    try:
        sheet = read_sheet(path.read_bytes(), path.name)
    except OSError as error:
        wrong = f"the stock list cannot be read ({error.strerror})"
        do = "Check [stock] file; the path is taken from the scenario's folder"
        raise BadInput(wrong, where=str(path), do=do) from error
    mapping = propose(sheet, "box")
    if not mapping.confident:
        raise Mistakes(questions=list(mapping.questions))
    taken = intake(sheet, mapping, site=SiteFacts(code="-"), known=Known(), answers={})
    if not taken.settled:
        raise Mistakes(mistakes=list(taken.mistakes), questions=list(taken.questions))
    return tuple(row.fields for row in taken.new)


def taken_for_boxes(boxes: Sequence[Mapping[str, object]]) -> tuple[str, ...]:
    """What is taken for boxes whose wall or empty mass the stock list leaves out, in words; empty for none."""
    said = {
        "wall": f"no wall is stated: {WALL} is taken (judgement; the lid lets far more water out than any wall)",
        "wall_mm": f"no wall thickness is stated: {WALL_MM:g} mm is taken (judgement)",
        "tare_kg": "no empty mass is stated: it is estimated from the walls; weigh the box and enter it",
    }
    lacking = {name: [str(box["name"]) for box in boxes if box.get(name) is None] for name in said}
    return tuple(f"Stock box {', '.join(names)}: {said[name]}." for name, names in lacking.items() if names)


def stock_box(facts: dict[str, object]) -> StockBox:
    """A box of the stock list from the register's fields; an unweighed one gets an estimate."""
    inside = tuple(float(str(facts[f"inside_{side}_mm"])) for side in "lwh")
    wall, wall_mm = str(facts.get("wall") or WALL), float(str(facts.get("wall_mm") or WALL_MM))
    tare, load, lid, count = (
        facts.get(name) for name in ("tare_kg", "max_load_kg", "lid_air_changes_per_day", "count")
    )
    return StockBox(
        name=str(facts["name"]),
        inside_mm=(inside[0], inside[1], inside[2]),
        wall=wall,
        wall_mm=wall_mm,
        tare_kg=empty_box_kg((inside[0], inside[1], inside[2]), wall, wall_mm) if tare is None else float(str(tare)),
        max_load_kg=None if load is None else float(str(load)),
        lid_air_changes_per_day=None if lid is None else float(str(lid)),
        count=None if count is None else int(str(count)),
        **_shape(facts, str(facts["name"])),
    )


def _shape(facts: Mapping[str, object], name: str) -> dict[str, Any]:
    """Taper, rounded corners and outside of a stock box, of what the list gives.

    Raises
    ------
    BadInput : one size of two at the floor, or of three outside, is missing.
    """
    shape: dict[str, Any] = {"corner_mm": float(str(facts.get("corner_mm") or 0.0))}
    groups: dict[str, tuple[str, ...]] = {"base_mm": ("base_l_mm", "base_w_mm")}
    groups["outside_over_all_mm"] = ("outside_l_mm", "outside_w_mm", "outside_h_mm")
    for field, columns in groups.items():
        given = [facts.get(column) for column in columns]
        if all(value is not None for value in given):
            shape[field] = tuple(float(str(value)) for value in given)
        elif any(value is not None for value in given):
            missing = ", ".join(column for column, value in zip(columns, given, strict=True) if value is None)
            do = "Give all of them, or none"
            raise BadInput(f"{missing} is missing", where=f"stock box {name}", limit=", ".join(columns), do=do)
    return shape


def _box(scenario: Scenario, stock: tuple[StockBox, ...], assumed: list[str]) -> StockBox | None:
    given = {key: value for key, value in scenario.box.items() if key != "closure"}
    if not given:
        return None
    if "stock" in given:
        named = {box.name.casefold(): box for box in stock}
        chosen = named.get(given["stock"].casefold())
        if chosen is None:
            raise UnknownName("box in the stock list", given["stock"], [box.name for box in stock], where=scenario.file)
        return chosen
    if "inside_mm" not in given or "wall" not in given or "wall_mm" not in given:
        missing = ", ".join(key for key in ("inside_mm", "wall", "wall_mm") if key not in given)
        raise BadInput(
            f"[box] lacks {missing}",
            where=scenario.file,
            limit="inside_mm, wall and wall_mm, or stock with the name of a box in [stock] file",
            do="Measure the box and give all three",
        )
    inside = tuple(given["inside_mm"])
    tare_kg = empty_box_kg(inside, given["wall"], given["wall_mm"])
    assumed.append(
        f"The empty box is taken at {tare_kg:.3f} kg (wall area × thickness × density, memory): weigh it, and move the "
        "mass bands by the difference."
    )
    if "lid_air_changes_per_day" not in given:
        assumed.append("The lid is not described: a prior from very tight to loose is used, and the band shows it.")
    return StockBox(
        name="the box given",
        inside_mm=inside,
        wall=given["wall"],
        wall_mm=given["wall_mm"],
        tare_kg=tare_kg,
        lid_air_changes_per_day=given.get("lid_air_changes_per_day"),
    )


def _climate(scenario: Scenario, packed_at: datetime | None) -> Climate | None:
    given = scenario.surroundings
    if not given:
        return None
    names = ("temp_c", "rh", "swing_k", "cycles_per_day", "barometric_pa_per_day", "lid_colder_k")
    stated = {name: given.get(name) for name in names}
    if "logger" in given:
        if packed_at is None:
            raise BadInput("a logger file needs packed_at", where=scenario.file, do="Give [hold] packed_at")
        path = scenario.path(given["logger"])
        return logged_climate(path, packed_at=packed_at, zone=given.get("zone"), stated=stated)
    if stated["temp_c"] is None:
        raise BadInput("[surroundings] has no temperature", where=scenario.file, do="Give temp_c or logger")
    return Climate(
        temp_c=stated["temp_c"],
        rh=stated["rh"],
        swing_k=stated["swing_k"],
        cycles_per_day=stated["cycles_per_day"],
        barometric_pa_per_day=stated["barometric_pa_per_day"],
    )


def _zone(packed_at: datetime | None) -> str:
    """The clock of the scenario: the offset written with packed_at."""
    offset = packed_at.utcoffset() if packed_at is not None else None
    if offset is None:
        return "UTC"
    minutes = int(offset.total_seconds() // 60)
    return f"UTC{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"
