"""What is named on a drawing of the packed box, where the leader of each name ends, and the drawing in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from findhold.draw.lettering import text_width_mm
from findhold.draw.marks import FILM, Mark, Path, Point, Text
from findhold.draw.spacing import LINE, RISE, wrapped
from findhold.paper.boxmarks import Stand
from findhold.paper.cut import Cut, Shape
from findhold.paper.dimensions import written_mm
from findhold.paper.packed import SectionLayer, SectionSpec

Named = list[tuple[Point, str]]


def called(layer: SectionLayer) -> str:
    """A layer's name, its material when the name does not say it, and its thickness."""
    name = layer.name
    if layer.material and layer.material.casefold() not in name.casefold():
        name = f"{name} ({layer.material})"
    return f"{name}, {written_mm(layer.thickness_mm)} mm" if layer.thickness_mm else name


def section_names(cut: Cut, stand: Stand, *, block_named: bool) -> Named:
    """What is named at the right of a section, each with a point in it on the paper."""
    spec = cut.spec
    (left, low), (along, height) = cut.corner_mm, cut.block_mm
    right, wall = left + along, stand.wall_mm / 2
    names = [((stand.right_mm - 3.0, stand.rim_mm - wall), "lid, closed on the rim")]
    rim = (stand.right_mm + wall, stand.floor_mm - 0.72 * (stand.floor_mm - stand.rim_mm))
    floor = "" if spec.base_mm is None else f", floor {written_mm(cut.base_mm)} mm inside"
    names.append((_on_wall(cut, stand, rim), f"{spec.box_name}, wall {written_mm(spec.wall_mm)} mm{floor}"))
    z = cut.inside_mm[1]
    for layer in spec.laid("lid"):
        names.append((stand.at(cut.walls_at(z)[1] - 0.1 * along, z - layer.thickness_mm / 2), called(layer)))
        z -= layer.thickness_mm
    z = low + height + spec.wrapped_mm
    for layer in spec.laid("top"):
        x = right - 0.16 * along
        if layer.pieces_mm:
            x = max(u for piece in cut.pieces(layer, z, z + 1.0) for u, _ in piece) - 0.04 * along
        names.append((stand.at(x, z + layer.thickness_mm / 2), _pieces(layer)))
        z += layer.thickness_mm
    names += _beside_names(cut, stand)
    for number, (layer, begin, end) in enumerate(spec.wraps()):
        at = _rightmost(cut.ring(begin, end), low + (0.86 - 0.1 * number) * height)
        names.append((stand.at(*(at or (right + (begin + end) / 2, low + height + end / 2))), wrap_called(spec, layer)))
    if spec.barrier_name():
        at = _rightmost([Shape(ring=cut.outline)], low + 0.62 * height, edge=True) or (right, low)
        names.append((stand.at(*at), f"{spec.barrier_name()} (barrier)"))
    for layer in spec.laid("under"):
        (u, v) = max(corner for corners in cut.pieces(layer, 0.0, layer.thickness_mm) for corner in corners)
        names.append((stand.at(u - 0.03 * along, low - v / 2), called(layer)))
    names += _fillings(cut, stand)
    if not block_named:
        at = _rightmost([Shape(ring=cut.outline)], low + 0.2 * height, share=0.8) or (right - 0.2 * along, low)
        names.append((stand.at(*at), spec.block_label))
    return names + _weights(cut, stand) + _bed_names(cut, stand)


def plan_names(cut: Cut, stand: Stand, *, block_named: bool) -> Named:
    """What is named at the right of the plan."""
    spec = cut.spec
    (left, near), (along, across) = cut.corner_mm, cut.block_mm
    right = left + along
    names = [((stand.right_mm + stand.wall_mm / 2, stand.at(0, near + 0.9 * across)[1]), spec.box_name)]
    for number, (layer, begin, end) in enumerate(spec.wraps()):
        at = _rightmost(cut.ring(begin, end), near + (0.74 - 0.12 * number) * across)
        names.append((stand.at(*(at or (right + (begin + end) / 2, near))), wrap_called(spec, layer)))
    fill = spec.fill()
    at = _rightmost(cut.fill(), near + 0.3 * across)
    if fill is not None and at is not None:
        names.append((stand.at(*at), called(fill)))
    if not block_named:
        names.append((stand.at(right - 0.2 * along, near + 0.12 * across), spec.block_label))
    names += _beside_names(cut, stand)
    turn = f"turned {spec.turn_deg:.0f}° in the box" if spec.turn_deg else "long side along the box"
    on = _rightmost([Shape(ring=cut.outline)], near + 0.06 * across, share=0.88) or (right - 0.12 * along, near)
    names.append((stand.at(*on), f"block: {turn}"))
    for layer in spec.laid("bed"):
        if layer.pieces_mm and layer.hatch != "tissue":
            ends = [corner for piece in layer.pieces_mm for corner in cut.piece(piece)]
            corner = stand.at(*max(ends, key=lambda end: (end[0], -end[1])))
            names.append((corner, f"{_pieces(layer)} (under the block)"))
    for sheet in spec.contour[:1]:
        corner = max((corner for corner in cut.piece(spec.opening(sheet))), key=lambda at: (at[0], at[1]))
        names.append((stand.at(*corner), _opening_words(cut)))
    if spec.base_mm is not None:
        names.append((stand.at((cut.inside_mm[0] + spec.base_mm[0]) / 2, 0.5 * cut.inside_mm[1]), "floor of the box"))
    return names + _weights(cut, stand)


def wrap_called(spec: SectionSpec, layer: SectionLayer) -> str:
    """A layer round the block; the wrapping's thickness is for the eye only and is not written."""
    return layer.name if layer == spec.wrapping() else called(layer)


def block_words(cut: Cut, stand: Stand, size_mm: float) -> tuple[list[Mark], bool]:
    """The block's name written in it where there is room, clear of the mark of its centre of gravity."""
    spec = cut.spec
    marked = cut.view == "plan" or spec.centre_of_gravity or spec.cog_mm is not None
    wide, high = (size / stand.ratio for size in cut.block_mm)
    shares = (0.75, 0.25) if marked else (0.5,)
    for share in (*shares, *((0.6, 0.85, 0.4, 0.15) if not cut.plain else ())):
        v = cut.corner_mm[1] + share * cut.block_mm[1]
        span = _widest(cut.outline, v, stand.ratio * 2.0)
        if span is None:
            continue
        lines = wrapped(spec.block_label, 0.8 * min(wide, (span[1] - span[0]) / stand.ratio), size_mm)
        tall = (len(lines) * LINE + 0.6) * size_mm
        whole = " ".join(lines) == " ".join(spec.block_label.split())
        if not lines or not whole or tall > (high / 2 - 2.4 if marked else high - 2.0):
            continue
        middle, centre = stand.at((span[0] + span[1]) / 2, v)
        top = centre - tall / 2
        half = max(text_width_mm(line, size_mm) for line in lines) / 2 + 0.9
        if spec.cog_mm is not None and _touches(
            stand.at(*cut.laid_at(spec.cog_mm)), (middle, centre), (half, tall / 2)
        ):
            continue
        panel = ((middle - half, top), (middle + half, top), (middle + half, top + tall), (middle - half, top + tall))
        first = top + (0.3 + 0.5 * (LINE - 1) + RISE) * size_mm
        written = [
            Text(at=(middle, first + n * LINE * size_mm), text=line, size_mm=size_mm, anchor="middle")
            for n, line in enumerate(lines)
        ]
        return [Path(points=panel, closed=True, pen=None, fill=FILM), *written], True
    return [], False


def spoken(spec: SectionSpec) -> str:
    """The drawing in words, for those who cannot see it."""
    layers = "; ".join(called(layer) for layer in spec.layers)
    centre = f" {_gravity_words(spec)}." if spec.cog_mm is not None else ""
    lifts = "".join(f" {words}." for words in _lift_words(spec).values())
    return (
        f"Bed {written_mm(spec.bed_mm)} mm, block {written_mm(spec.block_mm[2])} mm high, lid gap"
        f" {written_mm(spec.lid_gap_mm)} mm, side clearances {written_mm(spec.side_l_mm)} and"
        f" {written_mm(spec.side_w_mm)} mm.{centre}{lifts} Layers: {layers}."
    )


def _touches(mark: Point, centre: Point, half: Point) -> bool:
    return abs(mark[0] - centre[0]) < half[0] + 2.0 and abs(mark[1] - centre[1]) < half[1] + 2.0


def _on_wall(cut: Cut, stand: Stand, at: Point) -> Point:
    """A point of the right wall, moved on to it where the wall leans."""
    v = (stand.floor_mm - at[1]) * stand.ratio
    return (at[0] - (cut.inside_mm[0] - cut.walls_at(v)[1]) / stand.ratio, at[1])


def _fillings(cut: Cut, stand: Stand) -> Named:
    """The fill beside the block and the contour bed under its shoulders."""
    spec, low = cut.spec, cut.corner_mm[1]
    names: Named = []
    fill, contour = spec.fill(), spec.laid("contour")
    above = max((sheet.high_mm for sheet in spec.contour), default=0.0)
    at = _rightmost(cut.fill(), low + above + 0.36 * (cut.block_mm[1] - above))
    if fill is not None and at is not None:
        names.append((stand.at(*at), called(fill)))
    at = _rightmost(cut.neck(), low + above + 0.9 * (cut.block_mm[1] - above))
    names += [(stand.at(*at), layer.name) for layer in spec.laid("neck") if at is not None]
    at = _rightmost(cut.contour(), low + 0.5 * above)
    if contour and at is not None:
        sheets = f"{len(spec.contour)} sheets" if len(spec.contour) > 1 else "1 sheet"
        names.append((stand.at(*at), f"{contour[0].name} ({contour[0].material}), {sheets}"))
    return names


def _opening_words(cut: Cut) -> str:
    """The opening of the lowest sheet: its size, and how far and where to it is off the middle of the box."""
    corners = cut.piece(cut.spec.opening(cut.spec.contour[0]))
    us, vs = [u for u, _ in corners], [v for _, v in corners]
    along, across = (sum(at) / len(at) - inside / 2 for at, inside in zip((us, vs), cut.inside_mm, strict=True))
    size = " x ".join(written_mm(size) for size in cut.spec.contour[0].opening_mm)
    if cut.spec.turn_deg == 90:
        size = " x ".join(written_mm(size) for size in reversed(cut.spec.contour[0].opening_mm))
    off = [f"{written_mm(abs(along))} to the {'RIGHT' if along > 0 else 'LEFT'}"] if abs(along) >= 0.25 else []
    off += [f"{written_mm(abs(across))} to the {'FAR' if across > 0 else 'NEAR'} side"] if abs(across) >= 0.25 else []
    return f"hole of the lowest foam sheet, {size}, {', '.join(off) or 'in the middle'}"


def _beside_names(cut: Cut, stand: Stand) -> Named:
    """Boards, pads and packing sheets beside the block, at its right or, in the plan, also at its near side."""
    found: dict[str, Point] = {}
    for one, corners in cut.beside():
        middle = (sum(u for u, _ in corners) / len(corners), sum(v for _, v in corners) / len(corners))
        known = found.get(one.name)
        if known is None or middle[0] > known[0] + 1.0 or middle[1] < known[1] - 1.0:
            found[one.name] = middle
    thick = {layer.name: written_mm(layer.thickness_mm) for layer in cut.spec.laid("side")}
    return [(stand.at(*at), f"{name}, {thick[name]} mm" if name in thick else name) for name, at in found.items()]


def _bed_names(cut: Cut, stand: Stand) -> Named:
    """The layers of the bed from the floor up."""
    names: Named = []
    z = 0.0
    for number, layer in enumerate(cut.spec.laid("bed")):
        middle = z + layer.thickness_mm / 2
        left, right = cut.walls_at(middle)
        x = left + (right - left) * (0.93 - 0.04 * number)
        if layer.pieces_mm:
            x = max(u for piece in cut.pieces(layer, z, middle) for u, _ in piece) - 0.02 * (right - left)
        names.append((stand.at(x, middle), _pieces(layer)))
        z += layer.thickness_mm
    return names


def _pieces(layer: SectionLayer) -> str:
    """A bed layer's name with the number of its pieces."""
    count = len(layer.pieces_mm)
    return f"{count} × {called(layer)}" if count > 1 else called(layer)


def _weights(cut: Cut, stand: Stand) -> Named:
    """Centre of gravity and lifting points."""
    spec = cut.spec
    names: Named = []
    if spec.cog_mm is not None:
        names.append((stand.at(*cut.laid_at(spec.cog_mm)), _gravity_words(spec)))
    elif spec.centre_of_gravity and cut.view != "plan":
        middle = (cut.corner_mm[0] + cut.block_mm[0] / 2, cut.corner_mm[1] + cut.block_mm[1] / 2)
        names.append((stand.at(*middle), "centre of gravity, taken in the middle"))
    for by, words in _lift_words(spec).items():
        x, y = max(stand.at(*cut.laid_at(lift.at_mm)) for lift in spec.lifts if lift.by == by)
        names.append(((x, y) if cut.view == "plan" else (x, y + 3.2), words))
    return names


def _gravity_words(spec: SectionSpec) -> str:
    if spec.cog_mm is None:
        return ""
    return f"centre of gravity, {spec.bed_mm + spec.cog_mm[2]:.0f} mm over the floor"


def _lift_words(spec: SectionSpec) -> dict[str, str]:
    """How many hands and slings, in words."""
    counts = Counter(lift.by for lift in spec.lifts)
    return {by: f"lift here: {count} {by}{'s' if count > 1 else ''}" for by, count in counts.items()}


def _crossings(ring: Iterable[Point], v: float) -> list[float]:
    points = list(ring)
    found = []
    for (u0, v0), (u1, v1) in zip(points, [*points[1:], points[0]], strict=True):
        if (v0 <= v) != (v1 <= v):
            found.append(u0 + (v - v0) / (v1 - v0) * (u1 - u0))
    return found


def _rightmost(shapes: Iterable[Shape], v: float, *, edge: bool = False, share: float = 0.5) -> Point | None:
    """A point at a height in the rightmost stretch of shapes: in its middle, at a share of it, or on its right edge."""
    found = sorted(u for shape in shapes for ring in (shape.ring, *shape.holes) for u in _crossings(ring, v))
    if len(found) < 2:
        return None
    left, right = found[-2:]
    return (right if edge else left + share * (right - left), v)


def _widest(outline: tuple[Point, ...], v: float, band: float) -> Point | None:
    """The widest stretch of an outline that stays inside it over a band of heights."""
    spans = []
    for level in (v - band, v, v + band):
        found = sorted(_crossings(outline, level))
        if len(found) < 2:
            return None
        spans.append(max(zip(found[::2], found[1::2], strict=True), key=lambda span: span[1] - span[0]))
    left, right = max(span[0] for span in spans), min(span[1] for span in spans)
    return (left, right) if right > left else None
