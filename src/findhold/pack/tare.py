"""What a packed box weighs: an empty box that nobody weighed, from its walls, and the parts of the packed mass."""

from __future__ import annotations

from dataclasses import dataclass

from findhold.errors import BadInput
from findhold.pack.bed import Contents
from findhold.tables.keeping import wall as wall_named
from findhold.tables.load import table


@dataclass(frozen=True, slots=True, kw_only=True)
class MassPart:
    """One part of the packed mass, in words."""

    name: str
    mass_kg: float


def mass_parts(tare_kg: float, block_kg: float, parts: Contents, index: int) -> tuple[MassPart, ...]:
    """Everything a packed box is made up of, adding up to its gross mass; what is not there is left out.

    Parameters
    ----------
    tare_kg, block_kg : empty box and block [kg]. parts : of all boxes. index : which box.

    Source: `bed.contents`; computed.
    """
    said = {
        "empty box, lid": tare_kg,
        "block": block_kg,
        "foam": float(parts.foam_kg[index]),
        "board": parts.board_kg,
        "tray": parts.tray_kg,
        "foil, film, bags": parts.barrier_kg + parts.bag_kg,
        "silica gel": float(parts.gel_kg[index]),
        "tissue, dry": float(parts.tissue_kg[index]),
        "water": float(parts.water_kg[index]),
        "absorbent, lid": parts.lid_kg,
    }
    return tuple(MassPart(name=name, mass_kg=mass_kg) for name, mass_kg in said.items() if mass_kg > 0.0)


def empty_box_kg(inside_mm: tuple[float, float, float], wall: str, wall_mm: float) -> float:
    """An estimate of a box with its lid: six even walls. A weighing replaces it.

    Parameters
    ----------
    inside_mm : inside length, width, height [mm]. wall : wall material by any of its names. wall_mm : thickness [mm].

    Returns
    -------
    float : mass [kg]; ribs, rims and clips are not in it.

    Raises
    ------
    UnknownName : no such wall. BadInput : no density is known for it.

    Source
    ------
    Closed form; densities in the table wall_density (memory).
    """
    name = wall_named(wall).name
    densities = table("wall_density").by("wall")
    if name not in densities:
        raise BadInput(
            f"no density is known for a wall of {name}", where="box", do="Weigh the empty box and give its mass"
        )
    length, width, height = (side / 1000.0 for side in inside_mm)
    area_m2 = 2.0 * (length * width + length * height + width * height)
    return area_m2 * wall_mm / 1000.0 * float(densities[name]["density_kg_per_m3"])
