"""What the register knows: the kinds of things, their fields, and the headings people give them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from findhold.errors import UnknownName
from findhold.tables import load
from findhold.tables.soils import soil_names

FIELD_TYPES = (
    "text",
    "number",
    "integer",
    "mass_kg",
    "length_mm",
    "metres",
    "date",
    "instant",
    "list",
    "flag",
    "choice",
    "phone",
    "size",
)
SIZE_PARTS = {
    "find": ("length_mm", "width_mm", "height_mm"),
    "store": ("inside_l_mm", "inside_w_mm", "inside_h_mm"),
    "box": ("inside_l_mm", "inside_w_mm", "inside_h_mm"),
}
# Fields whose cell is one number or name; such a cell is compared, joined and printed on labels as it is.
_KEYS = {
    "context": ("number",),
    "find": ("number",),
    "sample": ("number",),
    "person": ("name",),
    "store": ("name",),
    "shelf": ("store", "name"),
    "box": ("name",),
    "material": ("name",),
    "closure": ("first_day", "store"),
}
_LABELS = {
    "context": "contexts",
    "find": "finds",
    "sample": "samples",
    "person": "people",
    "store": "stores",
    "shelf": "shelves",
    "box": "boxes",
    "material": "packing materials",
    "closure": "closures",
}
_CHOICE_LISTS = {
    ("context", "type"): "context type",
    ("find", "kind"): "find kind",
    ("find", "state"): "state",
    ("find", "soil"): "soil",
    ("store", "kind"): "store kind",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a kind: its type, what it may hold, and the headings that mean it.

    `low` and `high` are what no real thing can pass; `unit` is the unit it is stored in; `refers_to` names the
    kind whose key it holds; `word_list` names its list of words in choice_words.csv.
    """

    name: str
    label: str
    type: str
    required: bool = False
    choices: tuple[str, ...] = ()
    synonyms: tuple[str, ...] = ()
    help: str = ""
    low: float | None = None
    high: float | None = None
    unit: str = ""
    refers_to: str = ""
    word_list: str = ""

    @property
    def identifies(self) -> bool:
        """True when the cell is a number on the site (find, context, sample), never to be read as a quantity."""
        return self.name == "number" or self.refers_to in {"context", "find", "sample"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of thing in the register: its fields by name and the fields that make its key."""

    name: str
    label: str
    fields: dict[str, Field]
    key: tuple[str, ...]

    def field(self, name: str) -> Field:
        """One field; raises UnknownName with near names."""
        if name not in self.fields:
            raise UnknownName(f"field of {self.label}", name, list(self.fields))
        return self.fields[name]


def kind_named(name: str) -> Kind:
    """One kind by its name; raises UnknownName with near names."""
    if name not in KINDS:
        raise UnknownName("kind of register", name, list(KINDS))
    return KINDS[name]


@cache
def heading_words(kind: str) -> dict[str, tuple[str, ...]]:
    """Headings of a kind in plain form, each with the fields it may mean (more than one where the trade is loose)."""
    found: dict[str, list[str]] = {}
    for field in KINDS[kind].fields.values():
        for word in (field.name, field.label, *field.synonyms):
            names = found.setdefault(plain(word), [])
            if field.name not in names:
                names.append(field.name)
    return {word: tuple(names) for word, names in found.items()}


@cache
def all_heading_words() -> frozenset[str]:
    """Headings of all kinds in plain form, for finding the heading row of a file."""
    return frozenset(word for kind in KINDS for word in heading_words(kind))


@cache
def choice_words(word_list: str) -> dict[str, tuple[str, ...]]:
    """Words of one list with the choices each may mean, in lower case."""
    found: dict[str, list[str]] = {}
    for row in load.table("choice_words").rows:
        if row["list"] == word_list:
            for word in row["words"].split("|"):
                found.setdefault(word.lower(), []).append(row["choice"])
    return {word: tuple(choices) for word, choices in found.items()}


def plain(heading: str) -> str:
    """A heading in lower case without stops, brackets, underlines and doubled spaces.

    Not casefolded: that would make one word of the German Maße (dimensions) and Masse (mass).
    """
    return " ".join(re.sub(r"[^\w%°#×]+|_", " ", heading.lower()).split())


def _load_kinds() -> dict[str, Kind]:
    fields: dict[str, dict[str, Field]] = {name: {} for name in _KEYS}
    for row in load.table("register_fields").rows:
        if row["type"] not in FIELD_TYPES:
            raise ValueError(f"register_fields: {row['kind']}.{row['field']} has type {row['type']!r}")
        fields[row["kind"]][row["field"]] = Field(
            name=row["field"],
            label=row["label"],
            type=row["type"],
            required=row["required"] == "yes",
            # Soils are those whose densities and retention the tables have.
            choices=soil_names() if row["field"] == "soil" else _split(row["choices"]),
            synonyms=_split(row["words"]),
            help=row["help"],
            low=load.number(row["low"]),
            high=load.number(row["high"]),
            unit=row["unit"],
            refers_to=row["refers_to"],
            word_list=_CHOICE_LISTS.get((row["kind"], row["field"]), ""),
        )
    return {name: Kind(name=name, label=_LABELS[name], fields=fields[name], key=key) for name, key in _KEYS.items()}


def _split(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split("|") if part)


KINDS: dict[str, Kind] = _load_kinds()
