"""What to do at the bench, in order, to tick off; the cautions to read first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from findhold.pack import foam_steps
from findhold.pack.asked import Asked
from findhold.pack.care.blanks import SOIL, blanks
from findhold.pack.care.conflict import Conflict
from findhold.pack.care.dark import COVERED, DARKENED, DRAWN
from findhold.pack.care.rays import in_order
from findhold.pack.contour import TRAY
from findhold.pack.cut import FoamCut
from findhold.pack.damp import SheetDose, bag_touches
from findhold.pack.fill import TissuePart
from findhold.pack.kept import keeps_dark, plain_flags, wanted_rh, wanted_temp
from findhold.pack.need import Clearance, board_mm
from findhold.rounding import told_mass, told_span
from findhold.sources import source
from findhold.tables.contact import caution_texts

_TOO_LITTLE = "less, and the lid would press on it: stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do and tick."""

    number: int
    text: str
    why: str = ""
    lifts: Literal["", "block", "box"] = ""
    """What is lifted in it."""


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
    turned: str
    """Where its corner comes when it stands askew; empty otherwise."""
    clearance: Clearance
    parts: tuple[TissuePart, ...]
    gel_g: float
    gross_mass_kg: float
    foam: FoamCut

    @property
    def sheets(self) -> int:
        """Sheets in all, those under the lid left out."""
        return sum(part.sheets for part in self.parts if part.place != "lid")

    def part(self, place: str) -> TissuePart:
        """The tissue of one place; one without sheets where none falls to it."""
        none = TissuePart(place=place, layers=0, sheets=0, dry_g=0.0, water_g=0.0)
        return next((part for part in self.parts if part.place == place), none)


def counted(number: int, thing: str) -> str:
    """A number of things: "1 sheet", "3 sheets"."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


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


def mass_warnings(asked: Asked, mass_kg: float, *, boxed: bool = True) -> tuple[str, ...]:
    """What the packed mass [kg] asks for, or that of the contents where there is no box.

    Source: pack_defaults (judgement); hse-lifting-filter is a filter for further thought, not a limit.
    """
    defaults = asked.inputs.defaults
    said = f"Packed mass {told_mass(mass_kg)}: " if boxed else f"Contents {told_mass(mass_kg)}, the box not in it: "
    if mass_kg > defaults.mass_aid_kg:
        return (f"{said}over {defaults.mass_aid_kg:g} kg, so a mechanical aid or a lifting plan; mass on two faces.",)
    if mass_kg > defaults.mass_label_kg:
        return (f"{said}over {defaults.mass_label_kg:g} kg, so the mass goes on two faces.",)
    return ()


def steps_for(asked: Asked, dose: SheetDose, laid: Laid, found: tuple[Conflict, ...]) -> tuple[Step, ...]:
    """The packing steps in order.

    Source: order of first-aid and lifting guidance (nas-2009, block-excavation-entry, first-aid-for-finds-4-labelling)
    and common practice.
    """
    tell = [(f"Tell the conservator: {c.text}.", c.remedy) for c in found if c.analysis.startswith("metal-kept")]
    said = [*_before(asked, dose), *tell, *_laying(asked, dose, laid), *_closing(asked, dose, laid)]
    stored = _store(asked)
    return tuple(
        Step(number=i, text=_named(text, asked), why=_named(why, asked), lifts=_lifted(text, stored))
        for i, (text, why) in enumerate(said, 1)
    )


def _named(words: str, asked: Asked) -> str:
    """A loose find is called a find: a block is what lies in its soil."""
    if asked.soil is not None:
        return words
    words = words.replace("inside and on the block.", "inside and on its wrapping.")
    for block, find in (("the block", "the find"), ("wrapped block", "wrapped find"), ("block length", "its length")):
        words = words.replace(block, find)
    return words.replace("block to wall", "find to wall")


def _lifted(text: str, stored: str) -> Literal["", "block", "box"]:
    if text.startswith("Lower the "):
        return "block"
    return "box" if text == stored else ""


def with_hands(steps: tuple[Step, ...], block: str, box: str) -> tuple[Step, ...]:
    """The steps with who lowers the block and who carries the packed box, in words ("two people")."""
    named = {"block": block, "box": box}
    return tuple(
        replace(step, text=f"{step.text.removesuffix('.')}. {named[step.lifts][:1].upper()}{named[step.lifts][1:]}.")
        if step.lifts
        else step
        for step in steps
    )


def _before(asked: Asked, dose: SheetDose) -> Iterator[tuple[str, str]]:
    dark = keeps_dark(asked.inputs)
    if dark:
        yield DARKENED
    yield (_gloves(asked), "before anything is touched")
    if asked.analyses:
        names = ", ".join(a.name for a in asked.analyses)
        yield (f"Planned: {names}. No washing, no brushing, no bare hands, no hand cream.", "the earliest act decides")
    yield from _controls(asked, dose)
    if dark:
        on = " on a card beside it, never on the find" if asked.soil is None else " and a north arrow on its jacket"
        yield (DRAWN[0].format(on=on), DRAWN[1])
    elif asked.soil is not None:
        yield (
            "Mark TOP and a north arrow on the block's jacket; photograph every face with scale.",
            "position is evidence",
        )
    else:
        yield (
            "Photograph every face with scale, a card with TOP beside it, never on the find.",
            "position is evidence",
        )
    yield from _drying(asked)
    tapes = " and the two tapes" if _held_by(asked).startswith("by its tapes") else ""
    yield (f"Weigh the empty box with its lid{tapes}; write the tare.", "every later check rests on it")


def _gloves(asked: Asked) -> str:
    """Which gloves, and what each analysis asks of them."""
    wanted: dict[str, list[str]] = {}
    for analysis in asked.analyses:
        if analysis.gloves not in ("", "clean"):
            wanted.setdefault(analysis.gloves, []).append(analysis.name)
    said = "; ".join(f"for {', '.join(names)}: {gloves}" for gloves, names in wanted.items())
    return f"Put on clean, unpowdered gloves{f'. {said[:1].upper()}{said[1:]}' if said else ''}."


def _controls(asked: Asked, dose: SheetDose) -> Iterator[tuple[str, str]]:
    """Each soil control by itself; the blanks of what is used in one go."""
    kept = [control for control in blanks(asked, dose) if control.taken == "at packing"]
    for control in kept:
        if control.kind == SOIL:
            why = f"for {', '.join(control.analyses)}"
            yield f"Bag: {control.what} ({control.how_much}), labelled {control.labelled}.", why
    used = [control for control in kept if control.kind != SOIL]
    if used:
        named = ", ".join(control.name for control in used)
        said = f"Bag a blank each of: {named} (amounts under controls and blanks); label it {used[0].labelled}."
        yield said, f"for {', '.join(dict.fromkeys(name for control in used for name in control.analyses))}"


def _laying(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    yield from _laying_bed(asked, dose, laid)
    if asked.submerged:
        yield from _under_water(asked, dose, laid)
    else:
        yield from _off_board(asked, laid)
        yield from _wrapping(asked, dose, laid)
        yield _lowering(laid, "block", _held_by(asked))
        yield (
            f"Check with a straight edge across the rim: {laid.foam.over_wrapped_mm:g} mm free over the wrapped block, "
            f"at least {laid.foam.over_least_mm:g}.",
            _TOO_LITTLE,
        )
        yield from foam_steps.round_block(asked, laid.foam.pieces, _sides(laid))
    if laid.part("neck").sheets:
        yield (
            f"Fill the room round shoulder and neck with crumpled {asked.wrapping.name}{_from(laid, 'neck')}, loosely, "
            "up to its top.",
            "strips stand straight: a neck that nothing holds breaks",
        )
    if asked.desiccated:
        gel = f"{laid.gel_g:.0f} g of dry silica gel"
        yield (
            f"Lay {gel} in a perforated bag beside the foam, and a humidity card where it can be read.",
            f"{asked.material.name} wants {wanted_rh(asked.material) or 'dry air'}",
        )
    if laid.sheets:
        layers = asked.inputs.defaults.top_layers
        yield (f"Lay {layers} layers of {asked.wrapping.name} loosely on top{_from(laid, 'top')}.", "")
    yield from foam_steps.over_block(asked, laid.foam)
    yield ("Lay the inside label on top, face up.", "read it before anything is lifted")
    lid = laid.part("lid")
    if lid.sheets:
        yield (f"Lay {counted(lid.sheets, 'dry absorbent sheet')} flat under the lid.", "so that no drop falls on it")


def _off_board(asked: Asked, laid: Laid) -> Iterator[tuple[str, str]]:
    """From the board it was lifted on, which is larger than the block and would not go into the box.

    Source: common practice.
    """
    if asked.soil is None:
        return
    board = next((piece for piece in laid.foam.pieces if piece.name == "carrying board" and piece.where == "bed"), None)
    if board is not None:
        yield (
            f"Draw the block level from its lifting board on to its carrying board of {board.sizes}, its base borne "
            "all the way; this one goes into the box with it and stays.",
            "the lifting board is larger than the block",
        )
        return
    quarter_mm = 5.0 * round(asked.block_mm[0] / 20.0)
    yield (
        f"Lay two flat polyester tapes across a smooth bench, {quarter_mm:g} mm from where each end will be, and what "
        "the block is wrapped in over them. Draw the block level from its lifting board on to them, its base borne all "
        "the way.",
        "the lifting board does not go into the box",
    )


def _held_by(asked: Asked) -> str:
    """What a block is let down by."""
    if asked.soil is None:
        return ""
    carried = board_mm(asked) > 0 and not asked.cushioned
    return "on its carrying board" if carried else "by its tapes, which stay, ends on top"


def _lowering(laid: Laid, what: str, by: str = "") -> tuple[str, str]:
    where = "; ".join(word for word in (laid.turn_words, laid.turned, foam_steps.lean_words(laid.foam.pieces)) if word)
    how = f" {by}" if by else ""
    return (f"Lower the {what} level{how}, TOP up: {where}.", "never tilt or turn it")


def _sides(laid: Laid) -> str:
    return f"{laid.clearance.side_l:g} mm at the ends, {laid.clearance.side_w:g} mm at the sides"


def _under_water(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    """Foam, open bags, tray, find, then water: a bag full of water is neither carried nor lowered.

    Source: common practice; the tray because saturated wood is heavier than water.
    """
    defaults, band = asked.inputs.defaults, dose.bag_band_g
    yield from foam_steps.round_block(asked, laid.foam.pieces, _sides(laid))
    yield (
        f"Open {defaults.bag_layers} unperforated bags, one in the other, in the room between the foam; smooth them "
        "down into it, their edges over the rim. The find's label goes between them, face out; write TOP on the outer.",
        "what is wet takes no ink",
    )
    (tray,) = [piece for piece in laid.foam.pieces if piece.name == TRAY]
    yield (
        f"Set the {tray.name} of {tray.sizes} on the floor of the bag, feet down.",
        "the find sinks: it must not lie on film",
    )
    yield from _wraps(asked, laid)
    yield _lowering(laid, "find")
    yield (
        f"Lay a straight edge across the rim: {laid.clearance.lid_gap:g} mm free over the find, at least "
        f"{laid.foam.over_least_mm + laid.foam.margin_mm:g}.",
        _TOO_LITTLE,
    )
    edges = "" if band is None else f" ({band.low:.0f} to {band.high:.0f})"
    yield (
        f"Pour water down the side of the bag, best from its own context: about {dose.bag_water_g:.0f} g{edges}, until "
        f"it is {defaults.submerged_cover_mm:g} mm over the find; weigh what goes in.",
        "wet stays wet",
    )
    yield ("Press the air out and seal the bags one after the other; fold their necks flat on top.", "")
    if keeps_dark(asked.inputs):
        yield COVERED


def _laying_bed(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    """Foam, board, steps of the contour, tissue."""
    yield from foam_steps.cutting(laid.foam.pieces)
    yield from foam_steps.under(asked, laid.foam.pieces, laid.box)
    yield from _wetting(asked, dose, laid)
    if laid.sheets:
        layers = asked.inputs.defaults.bed_layers
        yield (f"Fold {asked.wrapping.name} on to the bed, {layers} layers{_from(laid, 'bed')}.", "")


def _wrapping(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    """Barrier, tissue and bag round the block, and its label while it can still be reached."""
    yield from _wraps(asked, laid)
    label = "Write TOP on the wrapping and tie the block's label to it."
    if dose.way == "bag":
        water = f"{dose.bag_water_g:.0f} g of water, best from its own context (a little, no more)"
        yield (
            f"Put it into {asked.inputs.defaults.bag_layers} unperforated bags with {water}; press the air out; seal.",
            "wet stays wet",
        )
        label = (
            "Put the find's label between the bags, face out, before the outer one is sealed; write TOP on that one."
        )
    elif asked.bag is not None and bag_touches(asked, dose):
        yield (f"Put the find, its soil left on, into a {asked.bag.name}.", "so that the gel can draw its damp")
    elif asked.bag is not None:
        yield (f"Put the wrapped find into a {asked.bag.name}.", "")
    elif not laid.sheets and asked.barrier is None:
        label = "Lay the block's label on it, TOP written on the label."
    if keeps_dark(asked.inputs):
        yield COVERED
        label = f"{label[:-1]}; on the outside only."
    yield (label, "later it cannot be reached")


def _wraps(asked: Asked, laid: Laid) -> Iterator[tuple[str, str]]:
    """Barrier and tissue round the block."""
    if asked.barrier is not None:
        yield (f"Wrap the block in {asked.barrier.name}, clean side in; nothing else touches it.", "contact rule")
    if laid.sheets:
        name, layers = asked.wrapping.name, asked.inputs.defaults.wrap_layers
        yield (f"Wrap the block in {layers} layers of {name}{_from(laid, 'round')}; do not press.", "")


def _from(laid: Laid, place: str) -> str:
    """How many of the sheets fall to one place, in brackets; nothing when there is one sheet for all."""
    if laid.sheets <= 1:
        return ""
    part = laid.part(place)
    if not part.sheets:
        return " (cut from what the others leave)"
    water = f", {part.water_g:.0f} g of water" if part.water_g else ""
    return f" ({counted(part.sheets, 'sheet')}{water})"


def _wetting(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    """Water on to the sheets."""
    if not laid.sheets or dose.g_per_sheet <= 0:
        return
    name, total = asked.wrapping.name, laid.sheets * dose.g_per_sheet
    water = f"{dose.g_per_sheet:.1f} g of clean distilled water"
    why = "damp, not wet: nothing may drip"
    if dose.over_g:
        why = f"STATED, {dose.over_g:.1f} g over the limit of {dose.band.upper_limit:.1f} g: ask who stated it first"
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
    ask = in_order("Ask the conservator today about X-ray and drying", dated_by_light=keeps_dark(asked.inputs))
    yield (f"{ask}. Until then: no water, no damp tissue, no closed box.", asked.keeping.why)
    yield (
        "On that word let it dry in air, unwashed, on a tray lined with white paper, until its mass stops falling; "
        "then pack it.",
        "not on a radiator, not in the closed box",
    )


def _closing(asked: Asked, dose: SheetDose, laid: Laid) -> Iterator[tuple[str, str]]:
    yield (
        "Labels: one on the lid, one on the end, besides those inside and on the block.",
        "two waterproof ones at least",
    )
    yield (
        f"Close the lid, wipe the box dry, weigh it: expect {_expected(dose, laid)}. Write mass and time.",
        "",
    )
    yield (_store(asked), "")
    yield ("Sign: who packed, when, and what was not done as written.", "")


def _expected(dose: SheetDose, laid: Laid) -> str:
    """The packed mass, with its edges where a bag is filled until the find is covered."""
    band, mass_kg = dose.bag_band_g, laid.gross_mass_kg
    if band is None:
        return told_mass(mass_kg)
    edges = (mass_kg - (band.best - band.low) / 1000.0, mass_kg + (band.high - band.best) / 1000.0)
    return f"{told_mass(mass_kg)} ({told_span(*edges)}, by the water it takes)"


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
