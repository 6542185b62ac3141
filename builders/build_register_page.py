"""Write docs/register.md: every kind and field that a register may hold, from the table the import itself reads.

Run from the project's root: .venv/bin/python builders/build_register_page.py
The result is committed, and a house test says when it has fallen behind the table.
"""

import pathlib

from findhold.register.kinds import KINDS, Field, Kind
from findhold.tables import load

PAGE = pathlib.Path(__file__).resolve().parent.parent / "docs" / "register.md"
MOST_HEADINGS = 8
MOST_WORDS = 6
TYPES = {
    "text": "text",
    "number": "number",
    "integer": "whole number",
    "mass_kg": "mass",
    "length_mm": "length",
    "metres": "coordinate",
    "date": "day",
    "instant": "day and time",
    "list": "list",
    "flag": "yes or no",
    "choice": "choice",
    "phone": "telephone number",
    "size": "three lengths",
}
HEAD = """# The register: what a file may hold

<!-- Written by builders/build_register_page.py from src/findhold/tables/data/register_fields.csv. Change that. -->

`findhold import FILE` reads CSV and XLSX with any headings, any delimiter, decimal comma or point, in English, German
or French. The tables below list every kind of thing and every field it may have. You need few of them: those in
**bold** for a new thing, and those you know.

## How a heading becomes a field

- A heading that says a field exactly is taken; the import shows what it took. A unit in the heading counts: `Mass (g)`.
- A heading that may mean two things, or only looks like one, is a question. So is a column whose cells are all words of
  one list of choices (`cut`, `fill`; `registered`, `bulk`; `dry`, `damp`) under a heading that does not say so.
- **A column without a field is never lost.** Its cells are kept with each row as they stand, under `other`
  (`findhold show 37`, or `--json`), and the import says so: *kept as they stand, not used: ...*. Give the column a
  field later, and the same file moves them there.
- The mapping is kept for these headings, with your answers. The next file with the same headings asks nothing.

## Questions and mistakes

On a terminal the questions are asked one after the other. Without one (a script, `--json`) the import stops and prints
under each question the option that answers it; add it to the same command:

    findhold import fridges.csv --kind store --answer "field name=Name of the thing"
    findhold import finds.csv --answer "column Type=kind" --answer "missing level=leave empty"

All mistakes are told at once, with row and column; while one stands nothing is recorded. Further options:

| option | what it does |
|---|---|
| `--kind KIND` | says what the rows are: {kinds} |
| `--write-map FILE` | writes the mapping as it would be taken, with the open questions as remarks, and stops |
| `--map FILE` | reads the file by that mapping; edit `[columns]` (heading = field), `[units]`, `not_used` |
| `--answer "ABOUT=CHOICE"` | answers one question; may stand several times |
| `--worksheet NAME` | takes this worksheet of a workbook |
| `--dry-run` | reads and checks everything, records nothing |
| `--correct --reason "..."` | records values that differ from the ledger as corrections |

A mapping file:

    kind = "find"
    not_used = ["Drawer"]

    [columns]
    "SF no." = "number"
    "Cxt" = "context"
    "Wt" = "mass_kg"

    [units]
    "Wt" = "g"

## The same file again, and files that add something

The same file twice changes nothing. A file may hold only the numbers of known things and what is new about them
(coordinates measured later): it needs no other columns, and what fills an empty place is recorded without more ado, as
*filled in from FILE*. A value that differs from the recorded one is a mistake until `--correct` with a reason. An empty
cell says nothing and deletes nothing.
"""


def page() -> str:
    """The whole page as it should stand."""
    parts = [HEAD.format(kinds=", ".join(f"`{name}`" for name in KINDS))]
    parts += [_kind(kind) for kind in KINDS.values()]
    parts.append(_words())
    return "\n".join(parts)


def _kind(kind: Kind) -> str:
    key = " and ".join(f"`{name}`" for name in kind.key)
    lines = [f"## {kind.label.capitalize()}", "", f"`--kind {kind.name}`; each is known by its {key}.", ""]
    lines += ["| field | unit | type | what it is | headings, for example |", "|---|---|---|---|---|"]
    lines += [_field(field) for field in kind.fields.values()]
    return "\n".join(lines) + "\n"


def _field(field: Field) -> str:
    name = f"**`{field.name}`**" if field.required else f"`{field.name}`"
    what = "; ".join(part for part in (field.label, field.help, _limits(field)) if part)
    if field.choices:
        what += f": {', '.join(field.choices)}"
    elif field.refers_to in KINDS:
        what += f"; one of the {KINDS[field.refers_to].label}"
    headings = ", ".join(spread([field.label, *field.synonyms], MOST_HEADINGS)).lower()
    return f"| {name} | {field.unit} | {TYPES[field.type]} | {what} | {headings} |"


def _limits(field: Field) -> str:
    if field.low is None or field.high is None:
        return ""
    return f"{field.low:.12g} to {field.high:.12g}{' ' + field.unit if field.unit else ''}"


def spread(words: list[str], most: int) -> list[str]:
    """At most so many of the words: the first half as they come, others evenly from the rest; each once."""
    once = list({word.lower(): word for word in reversed(words)}.values())[::-1]
    if len(once) <= most:
        return once
    first, rest = once[: most - most // 2], once[most - most // 2 :]
    return first + [rest[round((place + 1) * (len(rest) - 1) / (most // 2))] for place in range(most // 2)]


def _words() -> str:
    told = "Besides the choices themselves, these words are understood; any other is told or asked about."
    lines = ["## Words in cells", "", told, ""]
    lines += ["| list | choice | words, for example |", "|---|---|---|"]
    for row in load.table("choice_words").rows:
        words = ", ".join(spread(row["words"].split("|"), MOST_WORDS))
        lines.append(f"| {row['list']} | {row['choice']} | {words} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
