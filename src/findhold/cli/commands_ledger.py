"""new, list, show, prove."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption, leave
from findhold.service import finder, founding, office, proving, wire


def new(
    ledger: Annotated[Path, typer.Argument(metavar="LEDGER", help="The file to make, for example wcr26.ledger.")],
    site: Annotated[str, typer.Option("--site", metavar="CODE", help="Site code, as on every label.")],
    name: Annotated[str, typer.Option("--name", metavar="NAME", help="Name of the site.")],
    zone: Annotated[str, typer.Option(help="The site's time zone.")] = founding.DEFAULT_ZONE,
    grid: Annotated[str, typer.Option(help="The grid of eastings and northings.")] = founding.DEFAULT_GRID,
    vertical_datum: Annotated[str, typer.Option(help="What levels are measured from.")] = founding.DEFAULT_DATUM,
    jurisdiction: Annotated[str, typer.Option(help="Whose law applies, for example England.")] = "",
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Begin a ledger: one file that keeps everything and forgets nothing."""
    begun = founding.new_ledger(
        founding.NewLedger(
            path=ledger,
            site=site,
            name=name,
            zone=zone,
            grid=grid,
            vertical_datum=vertical_datum,
            jurisdiction=jurisdiction,
            person=person,
        )
    )
    if as_json:
        screen.show_json(wire.plain(begun))
        return
    screen.say(f"Begun: {begun.ledger} for site {begun.site}, {begun.name}.")
    screen.facts([("time zone", begun.zone), ("grid", begun.grid), ("levels from", begun.vertical_datum)])
    screen.say(f"Next: findhold import REGISTER.xlsx --ledger {begun.ledger}")


_COLUMNS: dict[str, list[tuple[str, str]]] = {
    "find": [
        ("no.", "number"),
        ("context", "context"),
        ("what", "what"),
        ("material", "material"),
        ("state", "state"),
        ("kg", "mass_kg"),
        ("store", "store"),
    ],
    "context": [("no.", "number"), ("type", "type"), ("cut", "cut"), ("description", "description")],
    "sample": [("no.", "number"), ("context", "context"), ("find", "find"), ("what", "what"), ("for", "analyses")],
    "person": [("name", "name"), ("initials", "initials"), ("role", "role"), ("phone", "phone")],
    "store": [("name", "name"), ("kind", "kind"), ("°C", "temp_c"), ("humidity", "rh"), ("note", "note")],
    "box": [
        ("name", "name"),
        ("L mm", "inside_l_mm"),
        ("W mm", "inside_w_mm"),
        ("H mm", "inside_h_mm"),
        ("wall", "wall"),
        ("tare kg", "tare_kg"),
        ("max kg", "max_load_kg"),
        ("count", "count"),
    ],
    "closure": [("first day", "first_day"), ("last day", "last_day"), ("reason", "reason")],
    "hold": [
        ("box", "box_id"),
        ("find", "find"),
        ("stock box", "box"),
        ("keep until", "keep_until"),
        ("limit", "limit"),
    ],
    "site": [("code", "code"), ("name", "name"), ("zone", "zone"), ("grid", "grid")],
    "file": [("file", "file"), ("kind", "kind"), ("new", "new"), ("changed", "changed")],
}


def list_(
    what: Annotated[str, typer.Argument(metavar="WHAT", help=", ".join(finder.LISTS))],
    ledger: LedgerOption = None,
    site: SiteOption = None,
    as_json: JsonOption = False,
) -> None:
    """List finds, contexts, samples, people, stores, boxes, holds and more."""
    with office.office(ledger, read_only=True) as desk:
        if site is not None:
            desk.site(site)
        listing = finder.list_things(desk, what, site)
    if as_json:
        screen.show_json({"kind": listing.kind, "count": len(listing.rows), "rows": wire.plain(listing.rows)})
        return
    kind = finder.LISTS.get(what, what)
    rows = [_flat(row) for row in listing.rows]
    columns = _COLUMNS.get(kind) or [(key, key) for key in (rows[0] if rows else {})]
    shown = [(head, key) for head, key in columns if any(row.get(key) not in (None, "", []) for row in rows)]
    heads = [head for head, _ in shown]
    flex = [head for head in heads if head in ("what", "description", "note", "grid", "file", "for", "reason", "limit")]
    screen.table(heads, [[row.get(key) for _, key in shown] for row in rows], flex=flex)
    screen.say(f"{len(rows)} in all")


def _flat(row: dict[str, Any]) -> dict[str, Any]:
    """A row with the facts of a hold that sit deeper lifted up."""
    plan, forecast = row.get("plan"), row.get("forecast") or {}
    if not isinstance(plan, dict):
        return row
    return {
        **row,
        "box": plan.get("box"),
        "keep_until": (forecast.get("keep_until") or "not forecast")[:10],
        "limit": f"{row['alarm'].upper()} SEEN" if row.get("alarm") else forecast.get("governing_limit"),
    }


def show(
    number: Annotated[str, typer.Argument(metavar="FIND", help="The find's number, for example 37.")],
    ledger: LedgerOption = None,
    site: SiteOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one find: its facts, its box, and its story in order."""
    with office.office(ledger, read_only=True) as desk:
        sheet = finder.show_find(desk, number, site)
    if as_json:
        screen.show_json(wire.plain(sheet))
        return
    screen.say(f"Find {sheet.number}, {sheet.site}", style="bold")
    left_out = {"number", "measured", *(key for key in sheet.facts if key.endswith(("_outline_mm", "profile_mm")))}
    screen.facts([(key.replace("_", " "), value) for key, value in sheet.facts.items() if key not in left_out])
    if sheet.hold:
        hold = _flat(sheet.hold)
        until = f"{hold['keep_until']} ({hold['limit']})" if hold["limit"] else hold["keep_until"]
        screen.facts([("box", f"{hold['box_id']} ({hold['box']})"), ("keep until", until)])
    for words in filter(None, (sheet.plan_outdated, sheet.labels_outdated)):
        screen.say(words, style=screen.ACT)
    screen.say()
    screen.table(
        ["when", "who", "what happened", "seal"],
        [[line.at[:16].replace("T", " "), line.person, line.meaning, line.hash[:8]] for line in sheet.story],
        flex=("what happened",),
    )


def prove(
    ledger: Annotated[str | None, typer.Argument(metavar="LEDGER", help="The ledger file.")] = None,
    named: LedgerOption = None,
    expect: Annotated[
        str | None,
        typer.Option(metavar="SEAL", help="A seal printed on paper earlier; it must still be in the ledger."),
    ] = None,
    fold_again: Annotated[
        bool,
        typer.Option("--fold-again", help="Events sound, lists not (after an update): make the lists from the events."),
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Check that no event was changed, removed or added; says the first bad one."""
    proof = proving.prove_ledger(proving.ProofRequest(ledger=ledger or named, expect=expect, fold_again=fold_again))
    if as_json:
        screen.show_json(proving.proof_as_plain(proof))
    elif proof.fault is None:
        screen.say(f"Whole: {proof.events} events from {proof.devices} device(s), every seal holds.")
        screen.facts([("newest seal", proof.newest_hash), ("seal found", expect if proof.expected_found else None)])
        for line in proving.not_to_be_called_in(proving.ProofRequest(ledger=ledger or named)):
            screen.say(line, style=screen.ACT)
    else:
        fault = proof.fault
        place = f"event {fault.event_no}" + (f" ({fault.word})" if fault.word else "") if fault.event_no else "the file"
        screen.say(f"NOT whole. First fault, {place}: {fault.why}.", style=screen.ACT)
        if fault.only_folding:
            screen.say(
                "After an update that is so until the lists are made again from the events. Keep a copy of the"
                f" file, then: findhold prove --fold-again {proof.ledger}"
            )
            leave(THE_ANSWER_IS_NO)
        screen.say("Keep this file as it is, do not write to it, and compare with the newest copy that proves whole.")
    leave(OK if proof.whole else THE_ANSWER_IS_NO)
