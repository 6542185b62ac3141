"""change: what stands in a field of a person, store, box or packing material now."""

from __future__ import annotations

from typing import Annotated

import typer

from findhold.cli import screen
from findhold.cli.ask import JsonOption, LedgerOption, PersonOption
from findhold.errors import BadInput
from findhold.service import changing, office


def change(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="person, store, box or material.")],
    name: Annotated[str, typer.Argument(metavar="NAME", help="As it stands in its list: 'Idris Penhale', 'F vessel'.")],
    fields: Annotated[
        list[str], typer.Argument(metavar="FIELD=VALUE", help="One or more: count=7, phone='01632 960142', away_from=.")
    ],
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why, recorded with it.")] = "",
    ledger: LedgerOption = None,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what a person, a store, a box or a material has now: telephone, duty holder, stock and the like."""
    request = changing.ChangeRequest(kind=kind, name=name, fields=_parted(fields), reason=reason)
    with office.office(ledger, person=person) as desk:
        done = changing.change_thing(desk, request)
    if as_json:
        screen.show_json(done)
        return
    for one in done["changes"]:
        screen.say(f"{done['name']}, {one['label'].lower()}: {one['says']}.")
    screen.say("Recorded." if done["recorded"] else "It stands so already; nothing was recorded.")


def _parted(fields: list[str]) -> dict[str, str]:
    """FIELD=VALUE by field."""
    found = {}
    for one in fields:
        field, sign, value = one.partition("=")
        if not sign:
            raise BadInput(f"{one!r} has no =", where="FIELD=VALUE", do="Write it like count=7; count= empties it")
        found[field.strip()] = value
    return found
