"""What is said of a cushion: the short lines of a sheet, warnings, assumptions and sources."""

from __future__ import annotations

from findhold.cushion.bearing import Press, spread_words
from findhold.cushion.choose import Design
from findhold.cushion.plan import AT_BEST, NOT_KNOWN, ONLY_IF, YES, CushionPlan, FaceCushion
from findhold.sources import bibliography
from findhold.tables.cushions import cushion_rules


def cushion_lines(plan: CushionPlan) -> tuple[str, ...]:
    """The cushion in short lines, for the screen and the packing sheet: what to lay, for what, and what it gives.

    Not a promise; the last line says what settles it.
    """
    declared = plan.declared
    heads = [
        f"Taken to stand {declared.fragility_g:g} G ({plan.band}): declared by {declared.person}, "
        f"{declared.day:%-d %B %Y}; an assumption, not a measurement.",
        f"Drop designed for: {spread_words(plan.drop.drop_m, '.2f')} m, {plan.drop.why}.",
    ]
    laid = dict.fromkeys((YES, ONLY_IF, AT_BEST), _laid_lines)
    body = {NOT_KNOWN: _unknown_lines, **laid}.get(plan.keeps, _refused_lines)(plan)
    bound = (
        f"No cushion of any kind can stop this drop within {declared.fragility_g:g} G in less than "
        f"{spread_words(plan.bound_mm)} mm of free travel."
    )
    tail = "Before relying on it, drop a dummy of the same size and mass in the packed box."
    return (*heads, *body, *_curve_line(plan), bound, tail)


def sheet_lines(plan: CushionPlan) -> tuple[str, ...]:
    """The cushion in fewer lines, for a sheet that has its cut list beside: for what it is, and what it gives."""
    lines = cushion_lines(plan)
    if plan.layout is None:
        return (verdict_line(plan), *lines)
    return (verdict_line(plan), *lines[:2], f"{plan.layout.why[:1].upper()}{plan.layout.why[1:]}.", lines[-1])


def verdict_line(plan: CushionPlan) -> str:
    """The verdict in one line, the same on the screen, on the front of a sheet and on its back."""
    return f"Cushion, limit of {plan.declared.fragility_g:g} G kept: {plan.verdict}."


def warnings(plan: CushionPlan) -> tuple[str, ...]:
    """What stands against the cushion: edges over the limit, pressure on the soil, tilting, boards that bend."""
    said: list[str] = []
    if plan.keeps == AT_BEST:
        edges: dict[str, list[str]] = {}
        for face in plan.faces:
            if face.design is not None and not face.design.holds_high:
                edges.setdefault(spread_words(face.design.g), []).append(face.name)
        told = "; ".join(f"{words} G on {', '.join(names)}" for words, names in edges.items())
        said.append(f"The limit holds at best figures only; with its spread the peak is {told}.")
    said += _curve_warnings(plan)
    presses = [face.press for face in plan.faces if face.press is not None]
    said += _press_warnings(presses)
    alone = [face.name for face in plan.faces if face.design is not None and _alone(face.design)]
    if alone:
        said.append(f"One pad alone on {', '.join(alone)} lets the block turn in a fall on it: find a softer foam.")
    pairs = [face.name for face in plan.faces if face.design is not None and _in_line(face.design)]
    if pairs:
        said.append(
            f"Two pads on {', '.join(pairs)} take the block on a line in a fall on them: it can turn over it. Find a "
            "softer foam."
        )
    said += _board_warnings(plan.faces)
    if plan.vibration is not None:
        said.append(f"Shaking: {plan.vibration.text}.")
    return tuple(said)


def assumptions(plan: CushionPlan) -> tuple[str, ...]:
    """What was taken without being measured."""
    said = [
        f"Mass on the cushion {spread_words(plan.mass_kg, '.1f')} kg; {plan.creep_fraction * 100:.0f} % of the foam's "
        "thickness may be lost under load while it waits (memory): the high edge counts it.",
        "All six faces are cushioned, because a box falls as it likes; the top may be thinner only in a box that is "
        "always kept upright.",
    ]
    said += plan.taken
    if any(face.board is not None and face.board.assumed for face in plan.faces):
        said.append("Boards behind pads are taken as 12 mm plywood (board_mm was not stated; judgement).")
    curve = plan.curve
    if curve is not None:
        sure = f"R² {curve.r2:.2f} over {curve.points} drops" if curve.r2 is not None else curve.note
        said.append(
            f"Curve {curve.name}: {sure}; fitted from {curve.energy_low_kpa:.0f} to {curve.energy_high_kpa:.0f} kPa "
            f"of energy, drops of {_range(curve.drop_low_m, curve.drop_high_m)} m, foam of "
            f"{_range(curve.thickness_low_mm, curve.thickness_high_mm)} mm, {curve.impact} impact, {curve.conditions}."
        )
        said.append("Curves are for new foam: after any drop open, look and renew it; cold and damp are not in them.")
    said += [f"Leg '{leg.label}': {leg.note} ({leg.seen})." for leg in plan.drop.legs if leg.note]
    return tuple(said)


def sources(plan: CushionPlan) -> tuple[str, ...]:
    """Citations the cushion rests on; a unit's own measurement is named as its file."""
    keys = ["clemson-stress-energy", "darby-thin-foam", "kersten-buckling", "cushion-creep-allowance"]
    if plan.curve is not None:
        keys.insert(0, plan.curve.source)
    keys += [leg.source for leg in plan.drop.legs]
    if any(face.press is not None and face.press.too_much is not None for face in plan.faces):
        keys.append("undrained-strength-words")
    if plan.vibration is not None:
        keys.append("astm-d4169-truck")
    known = bibliography()
    return tuple(dict.fromkeys(known[key].citation() if key in known else f"own measurement: {key}" for key in keys))


def _curve_line(plan: CushionPlan) -> list[str]:
    """How far the curve can be relied on, in few words."""
    curve = plan.curve
    if curve is None:
        return []
    if curve.r2 is None:
        return [f"Curve {curve.name}: through {curve.points} printed points, no error estimate, indicative only."]
    return [f"Curve {curve.name}: own, {curve.points} drops at {curve.energies} energies, R² {curve.r2:.2f}."]


def _laid_lines(plan: CushionPlan) -> list[str]:
    said = [
        f"{face.name.capitalize()}: {_foam_words(face)}; peak {spread_words(face.design.g)} G."
        for face in plan.faces
        if face.design is not None
    ]
    if len({line.split(": ", 1)[1] for line in said}) == 1:
        said = [f"All six faces: {said[0].split(': ', 1)[1]}"]
    return [*said, *(f"- {way.text}." for way in plan.helps)]


def _foam_words(face: FaceCushion) -> str:
    design = face.design
    assert isinstance(design, Design)
    laid = "" if len(design.sheets_mm) == 1 else f" ({' + '.join(f'{mm:g}' for mm in design.sheets_mm)})"
    if design.way == "full":
        return f"{design.thickness_mm:g} mm{laid} of foam on the whole face"
    pads = "1 pad" if design.pads == 1 else f"{design.pads} pads"
    board = "" if face.board is None else f" behind a board of {face.board.board_mm:g} mm"
    return f"{pads} of {design.pad_mm:.0f} x {design.pad_mm:.0f} mm, {design.thickness_mm:g} mm{laid} thick{board}"


def _refused_lines(plan: CushionPlan) -> list[str]:
    """Why there is no cushion: each different reason once, with the faces it holds for."""
    faces: dict[str, list[str]] = {}
    for face in plan.faces:
        for reason in face.why_not:
            shown = f"{face.name} ({reason.figure})" if reason.figure else face.name
            faces.setdefault(reason.text, []).append(shown)
    named = [f"No cushion of {plan.foam} on {', '.join(names)}: {text}." for text, names in faces.items()]
    return [*named, *(f"- {way.text}." for way in plan.helps)]


def _unknown_lines(plan: CushionPlan) -> list[str]:
    return [
        f"No cushion curve with a source is known for {plan.foam}: its thickness cannot be worked out here.",
        *(f"- {way.text}." for way in plan.helps),
    ]


def _curve_warnings(plan: CushionPlan) -> list[str]:
    """An own curve that is crooked or thinly measured."""
    curve, rules = plan.curve, cushion_rules()
    if curve is None or not curve.own:
        return []
    said = []
    if curve.r2 is not None and curve.r2 < rules.poor_r2:
        said.append(
            f"The drops of {curve.name} lie badly on one line (R² {curve.r2:.2f}, doubted under {rules.poor_r2:g}): "
            "this foam may not follow the law, as open-cell foam, bubble film and paper do not."
        )
    if curve.points < rules.enough_points:
        said.append(
            f"{curve.name} has {curve.points} drops; {rules.enough_points}, five at each of three energies, were "
            "enough elsewhere. The band is wide because of it."
        )
    return said


def _press_warnings(presses: list[Press]) -> list[str]:
    over = [press for press in presses if press.too_much]
    said = []
    if over:
        worst = max(over, key=lambda press: press.on_find_kpa)
        low, high = worst.strength_low_kpa or 0.0, worst.strength_high_kpa or 0.0
        firm = cushion_rules().clay_firm_high_kpa
        strength = f"{low:g} to {high:g} kPa as soft clay, up to {firm:g} as firm clay (memory)"
        if low == high:
            strength = f"{high:g} kPa as declared"
        names = ", ".join(press.face for press in over)
        said.append(
            f"In the drop the block's own surface is pressed with up to {worst.on_find_kpa:.0f} kPa ({names}); its "
            f"soil may bear {strength}. Spread it with a stiff board, support it all round, or lower the drop."
        )
    if presses and all(press.too_much is None for press in presses):
        worst = max(presses, key=lambda press: press.on_find_kpa)
        said.append(
            f"In the drop the find's own surface is pressed with up to {worst.on_find_kpa:.0f} kPa ({worst.face}); "
            "what it stands is not known: no strength of damp, low-fired ware was found, and cracks bear nothing."
        )
    return said


def _board_warnings(faces: tuple[FaceCushion, ...]) -> list[str]:
    soft = [face for face in faces if face.board is not None and not face.board.stiff]
    if not soft:
        return []
    worst = max(soft, key=lambda face: face.board.wanted_mm if face.board is not None else 0.0)
    board = worst.board
    assert board is not None
    return [
        f"The {board.board_mm:g} mm board{' (assumed)' if board.assumed else ''} bends {board.sag_mm:.1f} mm over "
        f"{board.free_mm:.0f} mm in the drop ({worst.name}): take plywood of {_round_up(board.wanted_mm):g} mm."
    ]


def _round_up(mm: float) -> float:
    """Up to the next 3 mm, as plywood is sold (common practice)."""
    return -(-mm // 3.0) * 3.0


def _alone(design: Design) -> bool:
    return design.way == "pads" and design.pads == 1


def _in_line(design: Design) -> bool:
    return design.way == "pads" and design.pads == 2


def _range(low: float, high: float) -> str:
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"
