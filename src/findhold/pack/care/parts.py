"""What a find is made of: its material and the parts stated beside it."""

from __future__ import annotations

from collections.abc import Iterator

from findhold.pack.asked import Asked
from findhold.tables.firstaid import find_part, part_group
from findhold.tables.materials import FindMaterial, find_material, find_material_names

COMPOSITE = "composite"


def parts_of(asked: Asked) -> tuple[str, ...]:
    """The find's own material and its parts, by their own names, none twice; "composite" itself is no part.

    Raises
    ------
    UnknownName : a part that is neither a material nor in find_parts.
    """
    stated = (find_part(name, where=asked.inputs.find) for name in asked.inputs.parts)
    own = () if asked.material.name == COMPOSITE and asked.inputs.parts else (asked.material.name,)
    return tuple(dict.fromkeys((*own, *stated)))


def materials_of(asked: Asked) -> Iterator[FindMaterial]:
    """The find's material, then the materials among its parts."""
    yield asked.material
    for part in parts_of(asked):
        if part != asked.material.name and part in find_material_names():
            yield find_material(part)


def speaks_of(word: str, asked: Asked) -> bool:
    """Whether a word of a rule (any, a material, a part, group:NAME) speaks of the find or of one of its parts."""
    own = ("any", asked.material.name, f"group:{asked.material.group}")
    return word in own or any(is_meant(word, part) for part in parts_of(asked))


def is_meant(word: str, part: str) -> bool:
    """Whether a word of a rule (a material, a part, group:NAME) means this part."""
    return word in (part, f"group:{part_group(part)}")
