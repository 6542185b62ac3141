"""The mass of an empty box that nobody weighed, from its walls."""

from __future__ import annotations

from findhold.errors import BadInput
from findhold.tables.keeping import wall as wall_named
from findhold.tables.load import table


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
