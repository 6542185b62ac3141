"""The state a find is to be kept in and why, for how long at most, and whether its store suits it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from findhold.pack.care.rays import in_order
from findhold.pack.inputs import PlanInputs, State
from findhold.tables.contact import find_analysis
from findhold.tables.firstaid import find_part
from findhold.tables.load import table
from findhold.tables.materials import FindMaterial, find_material, find_material_names

NO_LIGHT = "no light"
"""Flag of a find that no light may fall on."""
_METAL, _DATED_BY_LIGHT = "metal", "luminescence"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptState:
    """The state a find is kept in from now on, and the sentence why."""

    state: State
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldLimit:
    """The longest a find of its kind is held before the specialist sees it, counted from its exposure.

    days : [d] from first exposure. source : key of the bibliography.
    """

    name: str
    days: float
    source: str
    seen: str
    words: str


def kept_state(inputs: PlanInputs, material: FindMaterial) -> KeptState:
    """The state to keep a find in: as it was found, but loose damp metal is kept dry.

    Metal in its soil block stays damp with the block. Metal for which water is stated is kept damp.

    Source: first rule of all guidance seen, keep it as found (nas-2009, hampshire-finds-care); column keep_damp of
    find_materials.
    """
    if inputs.state == "dry":
        return KeptState(state="dry", why="It is dry and is kept dry.")
    if inputs.state == "waterlogged":
        return KeptState(state="waterlogged", why="It is wet and is kept wet until a conservator decides otherwise.")
    damp = "It is damp and is kept damp until a conservator decides otherwise."
    if material.keep_damp != "dry when loose":
        return KeptState(state="damp", why=damp)
    days = f"{inputs.defaults.metal_damp_days:g} days"
    if inputs.soil is not None:
        return KeptState(
            state="damp",
            why=f"Its soil block is kept damp, {days} at most: {material.name} corrodes while it is damp.",
        )
    if inputs.water_g_per_g:
        return KeptState(
            state="damp",
            why=f"Water is stated for it, so it is kept damp, {days} at most: {material.name} corrodes while damp.",
        )
    return KeptState(
        state="dry",
        why=f"Loose {material.name} corrodes while it is damp: it is kept dry, dried and desiccated on a conservator's "
        "word.",
    )


def is_desiccated(kept: KeptState, material: FindMaterial) -> bool:
    """Whether the box is to be airtight with silica gel: metal kept dry.

    Source: pack_in of the metals in find_materials.
    """
    return kept.state == "dry" and material.group == _METAL


def plain_flags(inputs: PlanInputs, material: FindMaterial) -> tuple[str, ...]:
    """Flags of the find, of what it is made of and of what is planned for it, in plain words, none twice."""
    flags = (*inputs.flags, *material.flags, *((NO_LIGHT,) if keeps_dark(inputs) else ()))
    words = (flag.casefold().replace("_", " ").strip() for flag in flags)
    return tuple(dict.fromkeys(word for word in words if word))


def keeps_dark(inputs: PlanInputs) -> bool:
    """Whether no light may fall on it: a luminescence date is planned.

    Source: luminescence-lab-ceramics (soil samples must not see light).
    """
    return any(find_analysis(name, where=inputs.find).name == _DATED_BY_LIGHT for name in inputs.analyses)


def hold_limit(inputs: PlanInputs, material: FindMaterial) -> HoldLimit | None:
    """How long a find of this material may be held in the state it was found in; None where no limit is known.

    A find that was found dry has none. Damp metal, in its block or loose and not yet dry, has the same few days. The
    shortest hold of the find's material and of its parts stands.

    Source: hold_days of find_materials; metal_damp_days of pack_defaults for damp metals.
    """
    if inputs.state == "dry":
        return None
    parts = {find_part(name, where=inputs.find): None for name in inputs.parts}
    others = (find_material(part) for part in parts if part in find_material_names() and part != material.name)
    limits = [_hold_limit(inputs, one) for one in (material, *others)]
    return min((limit for limit in limits if limit is not None), key=lambda limit: limit.days, default=None)


def _hold_limit(inputs: PlanInputs, material: FindMaterial) -> HoldLimit | None:
    """The hold of one material by itself."""
    name = f"first aid for {material.name}"
    if material.group == _METAL and inputs.state == "damp":
        days = inputs.defaults.metal_damp_days
        row = table("pack_defaults").by("name")["metal_damp_days"]
        words = f"{material.name} lies damp {days:g} days at most: X-ray, then the conservator's word on drying"
        words = in_order(words, dated_by_light=keeps_dark(inputs))
        return HoldLimit(name=name, days=days, source=row["source"], seen=row["seen"], words=words)
    if material.hold_days is None:
        return None
    words = f"{inputs.state} {material.name}: {material.hold_words}"
    days, source, seen = material.hold_days, material.hold_source, material.hold_seen
    return HoldLimit(name=name, days=days, source=source, seen=seen, words=words)


def wanted_rh(material: FindMaterial) -> str:
    """The humidity a dry find wants, in words; empty where none is known."""
    low, high = material.dry_rh_low or 0.0, material.dry_rh_high
    if high is None:
        return ""
    if low == 0.0:
        return f"at most {100 * high:.0f} % RH"
    return f"{100 * high:.0f} % RH" if low == high else f"{100 * low:.0f}-{100 * high:.0f} % RH"


def wanted_temp(material: FindMaterial) -> str:
    """The temperature a damp or wet find wants, in words."""
    return f"{material.temp_low_c:g}-{material.temp_high_c:g} °C"


def place_warnings(inputs: PlanInputs, material: FindMaterial, kept: KeptState) -> Iterator[str]:
    """What the named store does not give that the find wants: too damp for a dry one, too warm or cold for a damp one.

    Source: dry_rh_high, temp_low_c and temp_high_c of find_materials.
    """
    place = inputs.place or "The store"
    rh, temp_c = inputs.place_rh, inputs.place_temp_c
    if kept.state == "dry":
        if rh is not None and material.dry_rh_high is not None and rh > material.dry_rh_high:
            gel = "airtight box with silica gel and a humidity card"
            box = gel if is_desiccated(kept, material) else "airtight box with a humidity card"
            yield (
                f"{place} is at {100 * rh:.0f} % RH; dry {material.name} wants {wanted_rh(material)}: {box}, "
                "or another store."
            )
    elif temp_c is not None and not material.temp_low_c <= temp_c <= material.temp_high_c:
        way = "open it sooner" if temp_c > material.temp_high_c else "see that it cannot freeze"
        yield (
            f"{place} is at {temp_c:g} °C; {kept.state} {material.name} wants {wanted_temp(material)}: "
            f"another store, or {way}."
        )
