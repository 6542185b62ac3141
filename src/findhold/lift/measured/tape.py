"""Measuring by tape: three sizes, a profile when one was taken, a mass when it was weighed; slips of unit are asked."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from findhold.errors import BadInput, Mistake, Mistakes
from findhold.geometry.profile import profile_faults
from findhold.geometry.solids import SECTIONS, Section, stacked
from findhold.lift.measured.block import (
    AS_TYPED,
    Known,
    MeasuredBlock,
    Size,
    answered,
    ask,
    density_questions,
    density_range,
    mass_band,
    prism_l,
    rule,
)

_OTHER_UNITS = {"cm": 10.0, "dm": 100.0, "m": 1000.0, "inch": 25.4}
_OTHER_MASSES = {"g": 1e-3, "t": 1e3}
_MM3_PER_L = 1e6
_SIDES = ("length", "width", "height")


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeReading:
    """What the tape said: sizes over all; None lets the profile give them. section None = not said."""

    size_mm: Size | None
    profile_mm: tuple[Size, ...] = ()
    section: str | None = None


def measure_tape(reading: TapeReading, known: Known) -> MeasuredBlock:
    """The block of a tape reading.

    Not for loose finds that stand on a point or an edge: the height is that of the find as it stands.

    Parameters
    ----------
    reading : sizes [mm], and a profile when one was taken.
    known : material, state, soil, mass, and answers to questions asked before.

    Returns
    -------
    MeasuredBlock: without a profile its volume and centre are None, and the mass by its soil is that of the full prism
    at most.

    Raises
    ------
    Mistakes : sizes that are zero, negative, no number or too large, a profile that does not fit them; or a question
        when they look typed in another unit (answers: about "units").
    BadInput : neither sizes nor a profile, or a section that is not known.

    Source: geometry; computed. Densities: see density_range.
    """
    if reading.section is not None and reading.section not in SECTIONS:
        raise BadInput(
            f"{reading.section!r} is no form of a section", where=known.find, limit=", ".join(SECTIONS), do="Choose one"
        )
    size, rows = _sizes(reading, known)
    size, rows, known, slip = _in_their_unit(size, rows, known)
    faults = [*_size_faults(size, known), *(_fault(known, "profile", text) for text in _profile(rows, size))]
    if faults:
        raise Mistakes(mistakes=faults)
    if rows:
        return _with_profile(_over_all(size, rows), rows, reading.section, known, slip)
    volume = prism_l(size)
    band = mass_band(known, (volume * math.pi / 6.0, volume * math.pi / 4.0, volume)) if known.mass_kg is None else None
    remarks = [*slip, f"Measured by tape: {_words(size)} over all, no profile; volume and centre are not known."]
    if band is not None:
        remarks.append(
            f"Not weighed: {band.low_kg:.1f} to {band.high_kg:.1f} kg, for anything from an egg to a full prism of "
            f"{known.soil}. Weigh it."
        )
    return MeasuredBlock(
        size_mm=size,
        volume_l=None,
        volume_low_l=None,
        volume_high_l=None,
        mass_kg=known.mass_kg,
        mass_band=band,
        cog_mm=None,
        profile_mm=(),
        plan_outline_mm=(),
        side_outline_mm=(),
        end_outline_mm=(),
        how="tape",
        section="",
        scan=None,
        remarks=tuple(remarks),
        questions=density_questions(known, volume, volume),
        sources=_sources(known),
    )


def _with_profile(
    size: Size, rows: tuple[Size, ...], section: str | None, known: Known, slip: tuple[str, ...]
) -> MeasuredBlock:
    form: Section = "rectangle" if section == "rectangle" else "ellipse"
    solid, least, most = stacked(rows, form), stacked(rows, "ellipse"), stacked(rows, "rectangle")
    best, low, high = (one.volume_mm3 / _MM3_PER_L for one in (solid, least, most))
    if section is not None:
        low = high = best
    band = mass_band(known, (low, best, high)) if known.mass_kg is None else None
    said = _profile_words(form if section is not None else None, best, high)
    remarks = [*slip, f"Measured by tape: {_words(size)} over all, {len(rows)} heights.", *said]
    if band is not None:
        remarks.append(
            f"Not weighed: about {band.best_kg:.1f} kg ({band.low_kg:.1f} to {band.high_kg:.1f}) by the unit weights "
            f"of {known.soil}. Weigh it."
        )
    return MeasuredBlock(
        size_mm=size,
        volume_l=best,
        volume_low_l=low,
        volume_high_l=high,
        mass_kg=known.mass_kg,
        mass_band=band,
        cog_mm=(size[0] / 2.0, size[1] / 2.0, solid.centre_height_mm),
        profile_mm=rows,
        plan_outline_mm=(),
        side_outline_mm=(),
        end_outline_mm=(),
        how="tape",
        section=form,
        scan=None,
        remarks=tuple(remarks),
        questions=density_questions(known, low, high),
        sources=_sources(known),
    )


def _profile_words(said: Section | None, best_l: float, high_l: float) -> tuple[str, str]:
    """What form the sections were taken in, and for what density the centre stands."""
    taken = f"Sections of the profile are taken as {said}s, as said, centred over one another."
    if said is None:
        taken = (
            "Nobody said what form the sections have: ellipses are taken, rectangles would hold "
            f"{high_l:.3g} L instead of {best_l:.3g} L. Centred over one another."
        )
    return taken, "The centre of gravity is that of one density everywhere: a vessel or a stone in the block moves it."


def _sizes(reading: TapeReading, known: Known) -> tuple[Size, tuple[Size, ...]]:
    """Sizes over all and the profile; sizes that were not given are the profile's greatest."""
    rows = reading.profile_mm
    if reading.size_mm is not None:
        return reading.size_mm, rows
    if not rows:
        raise BadInput(
            "there is nothing measured",
            where=known.find,
            do="Give the size (length x width x height in mm), a profile, or a scan",
        )
    return (max(row[1] for row in rows), max(row[2] for row in rows), max(row[0] for row in rows)), rows


def _over_all(size: Size, rows: tuple[Size, ...]) -> Size:
    """Sizes over all that no row of the profile passes, where tape readings differ by a hair."""
    tops = (max(row[1] for row in rows), max(row[2] for row in rows), rows[-1][0])
    return (max(size[0], tops[0]), max(size[1], tops[1]), max(size[2], tops[2]))


def _profile(rows: tuple[Size, ...], size: Size) -> tuple[str, ...]:
    return profile_faults(rows, size) if rows else ()


def _size_faults(size: Size, known: Known) -> list[Mistake]:
    most = rule("size_most_mm")
    return [
        _fault(known, side, f"{value:g} mm cannot be", f"a number above 0 and up to {most:g} mm")
        for side, value in zip(_SIDES, size, strict=True)
        if not (math.isfinite(value) and 0.0 < value <= most)
    ]


def _fault(
    known: Known, what: str, wrong: str, allowed: str = "heights from 0 to the top, sizes within those over all"
) -> Mistake:
    return Mistake(file=known.find, row=None, column=what, value="", wrong=wrong, allowed=allowed)


def _in_their_unit(
    size: Size, rows: tuple[Size, ...], known: Known
) -> tuple[Size, tuple[Size, ...], Known, tuple[str, ...]]:
    """Sizes and mass in mm and kg; asks when they look typed in another unit, and says what an answer changed."""
    if not all(math.isfinite(value) and value > 0 for value in size):
        return size, rows, known, ()
    if known.mass_kg is not None and not (math.isfinite(known.mass_kg) and known.mass_kg > 0):
        wrong = [_fault(known, "mass", f"{known.mass_kg:g} kg cannot be", "more than 0 kg")]
        raise Mistakes(mistakes=wrong)
    why = _suspicion(size, known)
    if why is None:
        return size, rows, known, ()
    readings = _readings(size, known)
    choices = (*readings, AS_TYPED)
    chosen = answered(known, "units", choices)
    if chosen is None:
        offered = "; ".join(f"{name}: {words}" for name, (_, _, words) in readings.items())
        text = f"{known.find}: {why}." + (f" Would it be {offered}?" if offered else " Is a size or the mass wrong?")
        raise ask("units", text, choices)
    if chosen == AS_TYPED:
        return size, rows, known, (f"Asked about and confirmed as typed: {why}.",)
    factor, mass_kg, words = readings[chosen]
    larger = tuple(_times(row, factor) for row in rows)
    return _times(size, factor), larger, replace(known, mass_kg=mass_kg), (f"Taken as {chosen}, as answered: {words}.",)


def _suspicion(size: Size, known: Known) -> str | None:
    """Why sizes or mass look typed in another unit; None when they do not."""
    density = None if known.mass_kg is None else known.mass_kg / prism_l(size) * 1e3
    if density is not None and density > rule("unit_slip_high_kg_per_m3"):
        return f"{known.mass_kg:g} kg over {_words(size)} is {density:.3g} kg/m³, more than any metal"
    if density is not None and density < rule("unit_slip_low_kg_per_m3"):
        return f"{known.mass_kg:g} kg over {_words(size)} is {density:.3g} kg/m³, hardly more than air"
    block = known.soil is not None or known.material == "soil block"
    if block and min(size) < rule("block_thin_mm"):
        return f"{_words(size)} is thin for a block of soil"
    if min(size) < rule("size_least_mm"):
        return f"{_words(size)} is less than {rule('size_least_mm'):g} mm"
    if known.material is None and not block and max(size) < rule("likely_least_mm"):
        return f"{_words(size)} is very small"
    return None


def _readings(size: Size, known: Known) -> dict[str, tuple[float, float | None, str]]:
    """Other units under which sizes and mass go together: the factor, the mass, and the figures in words."""
    found: dict[str, tuple[float, float | None, str]] = {}
    for unit, factor in _OTHER_UNITS.items():
        larger = _times(size, factor)
        if (
            max(larger) <= rule("likely_most_mm")
            and max(larger) >= rule("likely_least_mm")
            and _goes(larger, known.mass_kg)
        ):
            found[f"sizes in {unit}"] = (factor, known.mass_kg, _figures(larger, known.mass_kg))
    if known.mass_kg is not None:
        for unit, factor in _OTHER_MASSES.items():
            if _goes(size, known.mass_kg * factor):
                mass = known.mass_kg * factor
                found[f"mass in {unit}"] = (1.0, mass, _figures(size, mass))
    return found


def _goes(size: Size, mass_kg: float | None) -> bool:
    if mass_kg is None:
        return True
    density = mass_kg / prism_l(size) * 1e3
    return rule("likely_low_kg_per_m3") <= density <= rule("likely_high_kg_per_m3")


def _figures(size: Size, mass_kg: float | None) -> str:
    if mass_kg is None:
        return _words(size)
    return f"{_words(size)} and {mass_kg:g} kg, {mass_kg / prism_l(size) * 1e3:.0f} kg/m³"


def _times(size: Size, factor: float) -> Size:
    return (size[0] * factor, size[1] * factor, size[2] * factor)


def _words(size: Size) -> str:
    return " x ".join(f"{value:.4g}" for value in size) + " mm"


def _sources(known: Known) -> tuple[str, ...]:
    return ("organic-soils-table-3-5", "findhold-judgement") if density_range(known) else ("findhold-judgement",)
