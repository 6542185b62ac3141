"""Rules that look across the rows of a file and into the ledger: needed fields, numbers used twice, references."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from findhold.errors import Mistake, Question, near_names
from findhold.register.kinds import KINDS, Kind
from findhold.register.values import worded

BULK_QUESTION = "bulk finds without number"
BULK_ANSWER = "number them by context and material"
REUSED_ANSWER = "correct the ledger"
_NEAR_LIMIT = 2000  # near names are looked for in registers up to this size; the search is a comparison with each


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteFacts:
    """What the ledger says about its site; a range of coordinates, when stated, bounds every find."""

    code: str
    zone: str | None = None
    grid: str | None = None
    vertical_datum: str | None = None
    easting_low: float | None = None
    easting_high: float | None = None
    northing_low: float | None = None
    northing_high: float | None = None


@dataclass(slots=True, kw_only=True)
class Draft:
    """The rows of a file as read so far, with what stands against them.

    `rows[i]` holds the fields of spreadsheet row `numbers[i]`; `raw` gives the cell as typed; `bad` are the
    (index, field) pairs that have a mistake already, so that nothing is told twice; `implied` are fields that only
    a heading says, for new things.
    """

    filename: str
    kind: Kind
    rows: list[dict[str, Any]]
    numbers: tuple[int, ...]
    headings: dict[str, str]
    raw: Callable[[int, str], Any]
    answers: Mapping[str, str]
    bad: set[tuple[int, str]] = field(default_factory=set)
    keys: list[str | None] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    answered: set[str] = field(default_factory=set)
    implied: set[str] = field(default_factory=set)

    def wrong(self, index: int | None, name: str, wrong: str, allowed: str, value: Any = None) -> None:
        """Put down one mistake at a row (None: the whole file) and field."""
        if value is None:
            value = "" if index is None else self.raw(index, name)
        self.mistakes.append(
            Mistake(
                file=self.filename,
                row=None if index is None else self.numbers[index],
                column=self.headings.get(name, self.kind.fields[name].label if name else ""),
                value=value if isinstance(value, str) else worded(value),
                wrong=wrong,
                allowed=allowed,
            )
        )
        if index is not None:
            self.bad.add((index, name))

    def ask(self, about: str, text: str, choices: tuple[str, ...], row: int | None = None) -> str | None:
        """The answer to a question, or None after putting the question down."""
        answer = self.answers.get(about)
        if answer is not None and (not choices or answer in choices):
            self.answered.add(about)
            return answer
        self.questions.append(Question(about=about, text=text, choices=choices, row=row))
        return None


def same_name(text: str) -> str:
    """A number or name in the form in which it is compared: lower case, single blanks, no leading zeros."""
    return re.sub(r"(?<!\d)0+(?=\d)", "", " ".join(text.lower().split()))


def key_of(kind: Kind, fields: Mapping[str, Any]) -> str | None:
    """The key of a row as text, or None when its first part is missing."""
    parts = [fields.get(name) for name in kind.key]
    if parts[0] is None:
        return None
    return " ".join(part.isoformat() if isinstance(part, date) else str(part) for part in parts if part is not None)


def take_off_site(draft: Draft, site: SiteFacts) -> None:
    """Check a site column, and take the site's code off numbers such as 'WCR26 37'."""
    prefix = re.compile(rf"^{re.escape(site.code)}[\s\-_/.:]+(?=\S)", re.IGNORECASE) if site.code else None
    names = [name for name, spec in draft.kind.fields.items() if spec.identifies and name in draft.headings]
    taken = 0
    for index, fields in enumerate(draft.rows):
        code = fields.pop("site", None)
        if code is not None and site.code and code.lower() != site.code.lower():
            draft.wrong(index, "site", "is another site", f"{site.code}, the site of this ledger")
        if prefix is None:
            continue
        for name in names:
            text = fields.get(name)
            if text is not None and prefix.match(text):
                fields[name] = prefix.sub("", text)
                taken += 1
    if taken:
        draft.notes.append(f"the site code {site.code} was taken off {taken} numbers")


def number_bulk_finds(draft: Draft) -> None:
    """Bulk finds are often listed by context and material only; whether that is their number is asked once."""
    if draft.kind.name != "find":
        return
    bare = [
        index
        for index, fields in enumerate(draft.rows)
        if fields.get("kind") == "bulk" and "number" not in fields and (index, "number") not in draft.bad
    ]
    ready = [index for index in bare if "context" in draft.rows[index] and "material" in draft.rows[index]]
    if not ready:
        return
    example = draft.rows[ready[0]]
    text = (
        f"{len(ready)} bulk finds have no number. Are they to be numbered by context and material, "
        f"for example {example['context']}-{example['material']}? If not, give each a number in the file."
    )
    answer = draft.ask(BULK_QUESTION, text, (BULK_ANSWER,))
    for index in ready:
        if answer:
            draft.rows[index]["number"] = f"{draft.rows[index]['context']}-{draft.rows[index]['material']}"
        else:
            draft.bad.add((index, "number"))


def needed_fields(draft: Draft, asked: set[str], known: Mapping[str, Any]) -> None:
    """Every new thing has the fields its kind needs; a missing column is told once, or not if it is `asked` for.

    Things of the ledger (`known`) have theirs already, so a file that only adds to them may leave columns out.
    """
    if "kind" in asked and "number" not in draft.headings:
        # Whether a number may be missing depends on the kind, which is asked for.
        asked = asked | {"number"}
    new = [index for index, key in enumerate(draft.keys) if key is None or key not in known]
    for name, spec in draft.kind.fields.items():
        if not spec.required or name in asked:
            continue
        lacking = [i for i in new if name not in draft.rows[i] and (i, name) not in draft.bad]
        allowed = ", ".join(spec.choices) or spec.help or "a value in every row"
        if lacking and name not in draft.headings and len(lacking) == len(new):
            wrong = f"no column is mapped to {spec.label.lower()}"
            if len(new) < len(draft.rows):
                verb = "is" if len(new) == 1 else "are"
                wrong += f", and {rows_named(draft.numbers[i] for i in new)} {verb} not in the ledger yet"
            draft.wrong(None, name, wrong, allowed)
            continue
        for index in lacking:
            draft.wrong(index, name, "is missing", allowed, value="")


def numbers_once(draft: Draft) -> None:
    """Each number or name once in the file; 037 and 37 count as the same."""
    draft.keys = [key_of(draft.kind, fields) for fields in draft.rows]
    name = draft.kind.key[0]
    first: dict[str, int] = {}
    for index, key in enumerate(draft.keys):
        if key is None:
            continue
        earlier = first.setdefault(same_name(key), index)
        if earlier == index:
            continue
        other = draft.keys[earlier]
        wrong = f"stands already in row {draft.numbers[earlier]}"
        if other != key:
            wrong = f"can be taken for {other!r} in row {draft.numbers[earlier]}"
        draft.wrong(index, name, wrong, f"each {draft.kind.fields[name].label.lower()} once")


def spelt_as_known(draft: Draft, known: Mapping[str, Any]) -> None:
    """A number written otherwise than in the ledger (037 for 37) is a mistake; a name in other case is not."""
    spelt = {same_name(key): key for key in known}
    name = draft.kind.key[0]
    for index, key in enumerate(draft.keys):
        other = spelt.get(same_name(key)) if key is not None else None
        if other is None or key is None or other == key or (index, name) in draft.bad:
            continue
        if draft.kind.fields[name].identifies:
            draft.wrong(index, name, f"is written {other!r} in the ledger", f"{other}, or a number not yet used")
        else:
            draft.keys[index] = other
            draft.rows[index][name] = known[other].get(name, other)


def references(draft: Draft, things: Mapping[str, Mapping[str, Any]]) -> None:
    """What a row points at exists: contexts, finds, stores and boxes, in the ledger or in the same file."""
    for name, spec in draft.kind.fields.items():
        if spec.refers_to not in KINDS or name not in draft.headings:
            continue
        known = list(things.get(spec.refers_to, ()))
        if spec.refers_to == draft.kind.name:
            known += [key for key in draft.keys if key is not None]
        _refer(draft, name, known, KINDS[spec.refers_to], identifies=spec.identifies)


def _refer(draft: Draft, name: str, known: list[str], target: Kind, *, identifies: bool) -> None:
    """Check one column of references; names in other case are taken in the ledger's spelling."""
    exact = set(known)
    spelt = {same_name(key): key for key in known}
    hints: dict[str, str] = {}
    for index, fields in enumerate(draft.rows):
        value = fields.get(name)
        if value is None:
            continue
        if name == "cut" and value == draft.keys[index]:
            draft.wrong(index, name, "points at itself", "the cut that the fill lies in, or empty")
        if value in exact:
            continue
        other = spelt.get(same_name(value))
        if other is not None and not identifies:
            fields[name] = other
            continue
        if value not in hints:
            hints[value] = _hint(value, other, known, target)
        draft.wrong(index, name, f"is not among the {target.label}", hints[value])


def _hint(value: str, other: str | None, known: list[str], target: Kind) -> str:
    if not known:
        return f"a {target.name} of the ledger; there is none yet: import the {target.label} first"
    near = [other] if other is not None else near_names(value, known) if len(known) <= _NEAR_LIMIT else []
    if near:
        return f"one of the {len(known)} {target.label} of the ledger; did you mean {' or '.join(near)}?"
    if len(known) <= 12:
        return f"one of {', '.join(known)}; or import it with the {target.label} first"
    return f"one of the {len(known)} {target.label} of the ledger; or import it with the {target.label} first"


def numbers_not_reused(draft: Draft, known: Mapping[str, Mapping[str, Any]]) -> set[int]:
    """Rows whose number the ledger has with another context: a number used again, unless the ledger was wrong.

    Returns the rows that are stopped, so that their other differences are not listed as changes.
    """
    stopped: set[int] = set()
    if draft.kind.name not in {"find", "sample"}:
        return stopped
    for index, key in enumerate(draft.keys):
        old = known.get(key) if key is not None else None
        context = draft.rows[index].get("context")
        if old is None or context is None or old.get("context") in (None, context):
            continue
        about = f"{draft.kind.name} {key}: context"
        if draft.answers.get(about) == REUSED_ANSWER:
            draft.answered.add(about)
            continue
        stopped.add(index)
        draft.wrong(
            index,
            "number",
            f"is in the ledger already, from context {old['context']}, not {context}",
            f"a number not yet used; if the ledger's context is wrong, answer {about!r} with {REUSED_ANSWER!r}",
        )
    return stopped


def rows_named(numbers: Iterable[int], most: int = 10) -> str:
    """Row numbers for a sentence: 'rows 3, 7 and 9', at most ten of them."""
    listed = list(numbers)
    shown = [str(number) for number in listed[:most]]
    if len(listed) > most:
        return f"rows {', '.join(shown)} and {len(listed) - most} more"
    if len(shown) == 1:
        return f"row {shown[0]}"
    return f"rows {', '.join(shown[:-1])} and {shown[-1]}"
