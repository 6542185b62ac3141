"""What to do at the bench, in order, to tick off; the controls to bag; the cautions to read first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from findhold.pack.asked import Asked
from findhold.pack.bed import Clearance
from findhold.pack.contact import Conflict, contact_material
from findhold.pack.damp import SheetDose
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
    gross_mass_kg: float


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
        bagged = dose.way in ("bag", "submerged") and not asked.inputs.sheets
        used = [contact_material(asked, dose), None if bagged else asked.wrapping, asked.barrier, asked.bag]
        names = dict.fromkeys(material.name for material in used if material is not None)
        controls += [
            Control(what=f"clean piece of the {name} used", how_much="a hand's breadth, in foil", analyses=any_blank)
            for name in names
        ]
        controls.append(Control(what="one unused glove", how_much="one, in foil", analyses=any_blank))
    return tuple(controls)


def cautions_for(asked: Asked, gross_mass_kg: float) -> tuple[Caution, ...]:
    """The cautions that belong to this find, its state, its flags and its mass."""
    whens = {"always", *asked.material.flags, *(flag.casefold().replace("_", " ") for flag in asked.inputs.flags)}
    if asked.inputs.state != "dry":
        whens.add("damp")
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
    yield ("Weigh the empty box with its lid; write the tare.", "every later check rests on it")


def _laying(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    defaults = asked.inputs.defaults
    foam_mm = laid.clearance.bed - asked.inputs.board_mm - (defaults.bed_tissue_mm if laid.sheets else 0.0)
    if dose.way == "submerged":
        foam_mm -= defaults.submerged_cover_mm
    yield (f"Lay a foam plank of {foam_mm:g} mm over the floor of {laid.box}.", "dry, closed-cell polyethylene")
    if laid.sheets and dose.g_per_sheet > 0:
        total = laid.sheets * dose.g_per_sheet
        water = f"{dose.g_per_sheet:.1f} g of clean distilled water to each sheet ({total:.0f} g in all)"
        yield (f"Weigh {laid.sheets} sheets of {asked.wrapping.name}; add {water}.", "damp, not wet: nothing may drip")
        yield ("Let the sheets rest folded in a closed bag until evenly damp; weigh again.", "wet patches drip")
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
    elif asked.bag is not None:
        yield (f"Put the wrapped find into a {asked.bag.name}.", "")
    yield (f"Lower the block level, TOP up: {laid.turn_words}.", "never tilt or turn it")
    sides = f"{laid.clearance.side_l:.0f} mm at the ends, {laid.clearance.side_w:.0f} mm at the sides"
    yield (f"Fill the sides with foam strips, not tight ({sides}).", "it must not slide, nor be squeezed")
    if laid.sheets:
        yield (f"Lay {defaults.top_layers} layers of {asked.wrapping.name} loosely on top.", "")
    yield (
        f"Check with a straight edge across the rim: {laid.clearance.lid_gap:.0f} mm free over the block.",
        "no lid load",
    )


def _closing(asked: Asked, laid: Laid) -> Iterator[tuple[str, str]]:
    yield (
        "Labels: one inside on top, one on the lid, one on the end, one on the block.",
        "two waterproof ones at least",
    )
    yield (f"Close the lid, wipe the box dry, weigh it: expect {laid.gross_mass_kg:.2f} kg. Write mass and time.", "")
    if asked.inputs.state == "dry":
        low, high = asked.material.dry_rh_low, asked.material.dry_rh_high
        range_words = "" if high is None else f" at {100 * (low or 0.0):.0f}-{100 * high:.0f} % RH"
        yield (f"Store dry, dark and steady{range_words}.", "")
    else:
        cold = f"{asked.material.temp_low_c:g}-{asked.material.temp_high_c:g} °C"
        yield (f"Into the cold store at {cold}, dark, never frozen, nothing on top.", "")
    yield ("Sign: who packed, when, and what was not done as written.", "")
