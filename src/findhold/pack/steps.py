"""What to do at the bench, in order, to tick off; the controls to bag; the cautions to read first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from findhold.pack.asked import Asked
from findhold.pack.bed import Clearance
from findhold.pack.contact import Conflict, contact_material
from findhold.pack.damp import SheetDose, bag_touches
from findhold.pack.kept import plain_flags, wanted_rh, wanted_temp
from findhold.sources import source
from findhold.tables.contact import caution_texts


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do and tick."""

    number: int
    text: str
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """A control or blank to bag with the find: what, how much, for which analyses."""

    what: str
    how_much: str
    analyses: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A caution that belongs on this sheet."""

    name: str
    text: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """What the steps need to know of a finished plan."""

    box: str
    turn_words: str
    clearance: Clearance
    sheets: int
    gel_g: float
    gross_mass_kg: float


def counted(number: int, thing: str) -> str:
    """A number of things: "1 sheet", "3 sheets"."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def controls_for(asked: Asked, dose: SheetDose) -> tuple[Control, ...]:
    """Controls and blanks to ship: soil inside, outside and away, and a clean piece of every packing material.

    Source: findhold-judgement, built from the residue and starch sampling guidance (seen) and memory.
    """
    with_soil = tuple(a.name for a in asked.analyses if a.controls == "soil")
    any_blank = tuple(a.name for a in asked.analyses if a.controls in ("soil", "blank"))
    low, high = asked.inputs.defaults.control_soil_low_g, asked.inputs.defaults.control_soil_high_g
    grams = f"{low:g}-{high:g} g, in foil then in a bag"
    controls: list[Control] = []
    if with_soil and asked.soil is not None:
        soils = (
            "soil from inside, touching the wall (each spit)",
            "soil from outside, same context, at least 10 cm away",
            "soil of the context away from the find",
        )
        controls += [Control(what=what, how_much=grams, analyses=with_soil) for what in soils]
    if any_blank:
        wrapping = None if bag_touches(asked, dose) else asked.wrapping
        used = [contact_material(asked, dose), wrapping, asked.barrier, asked.bag]
        names = dict.fromkeys(material.name for material in used if material is not None)
        controls += [
            Control(what=f"clean piece of the {name} used", how_much="a hand's breadth, in foil", analyses=any_blank)
            for name in names
        ]
        controls.append(Control(what="one unused glove", how_much="one, in foil", analyses=any_blank))
    return tuple(controls)


def cautions_for(asked: Asked, gross_mass_kg: float) -> tuple[Caution, ...]:
    """The cautions that belong to this find, the state it is kept in, its flags and its mass."""
    whens = {"always", *plain_flags(asked.inputs, asked.material)}
    whens.add("dry" if asked.kept == "dry" else "damp")
    if asked.inputs.state != "dry":
        whens.add("found damp")
    if asked.desiccated:
        whens.add("desiccated")
    if gross_mass_kg > asked.inputs.defaults.mass_label_kg:
        whens.add("heavy")
    return tuple(
        Caution(name=text.name, text=text.text, source=source(text.source).citation())
        for text in caution_texts()
        if text.when in whens
    )


def mass_warnings(asked: Asked, gross_mass_kg: float) -> tuple[str, ...]:
    """What the packed mass asks for.

    Source: pack_defaults (judgement); hse-lifting-filter is a filter for further thought, not a limit.
    """
    defaults = asked.inputs.defaults
    said = f"Packed mass {gross_mass_kg:.1f} kg: "
    if gross_mass_kg > defaults.mass_aid_kg:
        return (f"{said}over {defaults.mass_aid_kg:g} kg, so a mechanical aid or a lifting plan; mass on two faces.",)
    if gross_mass_kg > defaults.mass_two_people_kg:
        return (f"{said}over {defaults.mass_two_people_kg:g} kg, so two people; mass on two faces.",)
    if gross_mass_kg > defaults.mass_label_kg:
        return (f"{said}over {defaults.mass_label_kg:g} kg, so the mass goes on two faces.",)
    return ()


def steps_for(asked: Asked, dose: SheetDose, laid: Laid, found: tuple[Conflict, ...]) -> tuple[Step, ...]:
    """The packing steps in order.

    Source: order of first-aid and lifting guidance (nas-2009, block-excavation-entry, first-aid-for-finds-4-labelling)
    and common practice.
    """
    said = [*_before(asked, dose), *_laying(asked, dose, laid), *_closing(asked, laid)]
    said += [(f"Tell the conservator: {c.text}.", c.remedy) for c in found if c.analysis.startswith("metal-kept")]
    return tuple(Step(number=i, text=text, why=why) for i, (text, why) in enumerate(said, 1))


def _before(asked: Asked, dose: SheetDose) -> Iterator[tuple[str, str]]:
    gloves = dict.fromkeys(a.gloves for a in asked.analyses if a.gloves)
    yield ("Gloves: " + ("; ".join(gloves) or "clean, unpowdered") + ".", "before anything is touched")
    if asked.analyses:
        names = ", ".join(a.name for a in asked.analyses)
        yield (f"Planned: {names}. No washing, no brushing, no bare hands, no hand cream.", "the earliest act decides")
    for control in controls_for(asked, dose):
        yield (
            f"Bag: {control.what} ({control.how_much}), labelled with the find's number.",
            "for " + ", ".join(control.analyses),
        )
    if asked.soil is not None:
        yield (
            "Mark TOP and a north arrow on the block's jacket; photograph every face with scale.",
            "position is evidence",
        )
    else:
        yield ("Photograph every face with scale; mark TOP on the wrapping, never on the find.", "position is evidence")
    yield from _drying(asked)
    yield ("Weigh the empty box with its lid; write the tare.", "every later check rests on it")


def _laying(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    defaults = asked.inputs.defaults
    foam_mm = laid.clearance.bed - asked.inputs.board_mm - (defaults.bed_tissue_mm if laid.sheets else 0.0)
    if dose.way == "submerged":
        foam_mm -= defaults.submerged_cover_mm
    yield (f"Lay a foam plank of {foam_mm:g} mm over the floor of {laid.box}.", "dry, closed-cell polyethylene")
    yield from _wetting(asked, dose, laid)
    if laid.sheets:
        yield (f"Fold {asked.wrapping.name} on to the bed, {defaults.bed_layers} layers.", "")
    if asked.barrier is not None:
        yield (f"Wrap the block in {asked.barrier.name}, clean side in; nothing else touches it.", "contact rule")
    if laid.sheets:
        yield (f"Wrap the block in {defaults.wrap_layers} layers of {asked.wrapping.name}; do not press.", "")
    if dose.way in ("bag", "submerged"):
        how = "until it is covered" if dose.way == "submerged" else "a little, no more"
        water = f"{dose.bag_water_g:.0f} g of water, best from its own context ({how})"
        yield (
            f"Put it into {defaults.bag_layers} unperforated bags with {water}; press the air out; seal.",
            "wet stays wet",
        )
    elif asked.bag is not None and bag_touches(asked, dose):
        yield (f"Put the find, its soil left on, into a {asked.bag.name}.", "so that the gel can draw its damp")
    elif asked.bag is not None:
        yield (f"Put the wrapped find into a {asked.bag.name}.", "")
    yield (f"Lower the block level, TOP up: {laid.turn_words}.", "never tilt or turn it")
    sides = f"{laid.clearance.side_l:.0f} mm at the ends, {laid.clearance.side_w:.0f} mm at the sides"
    yield (f"Fill the sides with foam strips, not tight ({sides}).", "it must not slide, nor be squeezed")
    if asked.desiccated:
        gel = f"{laid.gel_g:.0f} g of dry silica gel"
        yield (
            f"Lay {gel} in a perforated bag beside the foam, and a humidity card where it can be read.",
            f"{asked.material.name} wants {wanted_rh(asked.material) or 'dry air'}",
        )
    if laid.sheets:
        yield (f"Lay {defaults.top_layers} layers of {asked.wrapping.name} loosely on top.", "")
    yield (
        f"Check with a straight edge across the rim: {laid.clearance.lid_gap:.0f} mm free over the block.",
        "no lid load",
    )


def _wetting(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    """Water on to the sheets."""
    if not laid.sheets or dose.g_per_sheet <= 0:
        return
    name, total = asked.wrapping.name, laid.sheets * dose.g_per_sheet
    water = f"{dose.g_per_sheet:.1f} g of clean distilled water"
    why = "damp, not wet: nothing may drip"
    if laid.sheets == 1:
        yield (f"Weigh the sheet of {name}; add {water} to it.", why)
        yield ("Let the sheet rest folded in a closed bag until evenly damp; weigh again.", "wet patches drip")
        yield ("Cut it for bed, wrapping and top.", "one sheet is enough for a small find")
        return
    yield (f"Weigh {laid.sheets} sheets of {name}; add {water} to each sheet ({total:.0f} g in all).", why)
    yield ("Let the sheets rest folded in a closed bag until evenly damp; weigh again.", "wet patches drip")


def _drying(asked: Asked) -> Iterator[tuple[str, str]]:
    """Loose metal that was found damp: dry it on a conservator's word.

    Source: cardiff-metals-storage (dried in air before it is boxed, never in the closed box), conservation-advice-notes
    (unwashed, on a lined tray, not on a radiator).
    """
    if not asked.desiccated or asked.inputs.state == "dry":
        return
    yield (
        "Ask the conservator today about X-ray and drying. Until then: no water, no damp tissue, no closed box.",
        asked.keeping.why,
    )
    yield (
        "On that word let it dry in air, unwashed, on a tray lined with white paper, until its mass stops falling; "
        "then pack it.",
        "not on a radiator, not in the closed box",
    )


def _closing(asked: Asked, laid: Laid) -> Iterator[tuple[str, str]]:
    yield (
        "Labels: one inside on top, one on the lid, one on the end, one on the block.",
        "two waterproof ones at least",
    )
    yield (f"Close the lid, wipe the box dry, weigh it: expect {laid.gross_mass_kg:.2f} kg. Write mass and time.", "")
    yield (_store(asked), "")
    yield ("Sign: who packed, when, and what was not done as written.", "")


def _store(asked: Asked) -> str:
    """Where it goes and how it is kept there."""
    place, temp_c, rh = asked.inputs.place, asked.inputs.place_temp_c, asked.inputs.place_rh
    if asked.kept == "dry":
        wants = wanted_rh(asked.material)
        inside = " inside the closed box" if asked.desiccated else ""
        how = f"dry, dark and steady{f', {wants}{inside}' if wants else ''}"
        if place is None:
            return f"Store {how}."
        air = "" if rh is None else f" ({100 * rh:.0f} % RH)"
        return f"Into {place}{air}: {how}."
    wants, how = wanted_temp(asked.material), "dark, never frozen, nothing on top"
    if place is None:
        return f"Into the cold store at {wants}, {how}."
    if temp_c is None:
        return f"Into {place} at {wants}, {how}."
    suits = asked.material.temp_low_c <= temp_c <= asked.material.temp_high_c
    return f"Into {place} (set to {temp_c:g} °C{'' if suits else f'; {wants} is wanted'}), {how}."
