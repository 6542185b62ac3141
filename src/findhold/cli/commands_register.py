"""import: read a register, a stock list, closures ... into the ledger."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from findhold.cli import asking, commands_store, screen
from findhold.cli.ask import THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption
from findhold.errors import BadInput, Mistakes
from findhold.service import intake, office, wire


def import_(
    file: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="CSV or XLSX of the register, with any headings.")
    ] = None,
    ledger: LedgerOption = None,
    kind: Annotated[
        str | None,
        typer.Option(
            "--kind",
            metavar="KIND",
            help="What the rows are: context, find, sample, person, store, shelf, box, material, closure. "
            "Default: told from the headings.",
        ),
    ] = None,
    site: SiteOption = None,
    map_file: Annotated[
        Path | None, typer.Option("--map", metavar="FILE", help="A mapping file instead of the question.")
    ] = None,
    keep_map: Annotated[
        Path | None, typer.Option("--write-map", metavar="FILE", help="Write the proposed mapping here, and stop.")
    ] = None,
    answer: Annotated[
        list[str] | None, typer.Option("--answer", metavar="ABOUT=CHOICE", help="Answer a question of the import.")
    ] = None,
    worksheet: Annotated[str | None, typer.Option(metavar="NAME", help="Which worksheet of an XLSX file.")] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Read and check everything, record nothing.")] = False,
    correct: Annotated[bool, typer.Option("--correct", help="Record rows that differ as corrections.")] = False,
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why rows are corrected.")] = "",
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Take the proposed mapping without asking.")] = False,
    logger: Annotated[
        Path | None,
        typer.Option("--logger", metavar="FILE", help="A store's logger: CSV of times and temperature or humidity."),
    ] = None,
    store: Annotated[str | None, typer.Option("--store", metavar="NAME", help="The store of the logger.")] = None,
    zone: Annotated[
        str | None, typer.Option("--zone", metavar="ZONE", help="The logger's clock, if its file does not say.")
    ] = None,
    failure: Annotated[
        str | None, typer.Option("--failure", metavar="STORE", help="A store that was off; with --from, --to, --room.")
    ] = None,
    begins: Annotated[
        str | None, typer.Option("--from", metavar="TIME", help="When it went off, e.g. 2026-07-31T20:00+01:00.")
    ] = None,
    ends: Annotated[
        str | None, typer.Option("--to", metavar="TIME", help="When it was on again; leave out while it is off.")
    ] = None,
    room: Annotated[float | None, typer.Option("--room", metavar="C", help="Temperature of the room, °C.")] = None,
    take_back: Annotated[
        bool, typer.Option("--take-back", help="Take a logger's file or a failure back; needs --reason.")
    ] = False,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Import a finds register, contexts, samples, boxes, stores, people or closures; or what happened to a store.

    The headings are recognised or asked about once, and the answer is kept for the next file with the same headings.
    All mistakes are reported at once; nothing is ever half-imported; the same file twice changes nothing.
    With --logger or --failure every box of that store is forecast again, worst first.
    """
    if logger is not None or failure is not None or take_back:
        _only_one(file, logger, failure)
        logged = commands_store.LoggerWords(file=logger, store=store, zone=zone, answers=_answers(answer or []))
        failed = commands_store.FailureWords(store=failure, begins=begins, ends=ends, room_c=room)
        run = commands_store.RunWords(
            ledger=ledger,
            person=person,
            site=site,
            reason=reason,
            take_back=take_back,
            dry_run=dry_run,
            as_json=as_json,
        )
        commands_store.import_store(logged, failed, run)
        return
    if file is None:
        raise BadInput("which file?", do="Give a file, or --logger FILE --store NAME, or --failure STORE")
    request = intake.ImportRequest(
        file=file,
        kind=kind,
        site=site,
        worksheet=worksheet,
        mapping=_text_of(map_file) if map_file else None,
        answers=_answers(answer or []),
        dry_run=dry_run,
        correct=correct,
        reason=reason,
    )
    with office.office(ledger, person=person) as desk:
        if keep_map is not None:
            proposal = intake.propose_import(desk, request)
            keep_map.write_text(proposal.text, encoding="utf-8")
            screen.say(f"Written: {keep_map}. Edit it, then import with --map {keep_map}.")
            return
        asks = not as_json and asking.on_terminal()
        done, shown = _read_in(desk, request, asks=asks, confirms=asks and not (map_file or yes))
    if as_json:
        screen.show_json(wire.plain(done))
        return
    _tell(done, shown=shown)


def _read_in(
    desk: office.Office, request: intake.ImportRequest, *, asks: bool, confirms: bool
) -> tuple[intake.Imported, bool]:
    """Import a file; a person at the terminal confirms its mapping and settles its questions one after the other.

    Returns what was done and whether the mapping was shown.
    """
    shown: dict[str, str] | None = None
    confirmed: dict[str, str] | None = None
    given: dict[str, str] = {}
    while True:
        proposal = intake.propose_import(desk, request)
        columns = proposal.mapping.columns
        confirms = confirms and not proposal.remembered
        if confirms and shown != columns and columns:
            _show_mapping(proposal)
            shown = columns
        if confirms and confirmed != columns and not proposal.mapping.questions:
            _confirm(request.file)
            confirmed = columns
        try:
            with screen.busy(f"reading {request.file.name}"):
                return intake.import_file(desk, request, proposal), shown is not None
        except Mistakes as error:
            if not asks or error.mistakes or not error.questions:
                asking.say_answers(given)
                raise
            answers, all_given = asking.ask_all(error.questions, asking.ask_one)
        given |= answers
        request = replace(request, answers={**request.answers, **answers})
        if not all_given:
            screen.say("Nothing was recorded.")
            asking.say_answers(given)
            raise typer.Exit(THE_ANSWER_IS_NO)


def _confirm(file: Path) -> None:
    """Ask whether the mapping shown is right; leave when it is not."""
    if not typer.confirm("Read the file like this?", default=True):
        screen.say(f"Nothing was read. To change it: findhold import {file} --write-map map.toml, then --map map.toml")
        raise typer.Exit(THE_ANSWER_IS_NO)


def _only_one(file: Path | None, logger: Path | None, failure: str | None) -> None:
    given = [
        word for word, value in (("FILE", file), ("--logger", logger), ("--failure", failure)) if value is not None
    ]
    if len(given) > 1:
        raise BadInput(f"{' and '.join(given)} are given together", do="Give one at a time: each is recorded by itself")


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput("the mapping file cannot be read", where=str(path), do="Check the path") from error


def _answers(pairs: list[str]) -> dict[str, str]:
    found = {}
    for pair in pairs:
        about, equals, choice = pair.partition("=")
        if not equals:
            raise BadInput(f"{pair!r} is not an answer", where="--answer", do='Write "what it is about=the choice"')
        found[about.strip()] = choice.strip()
    return found


def _show_mapping(proposal: intake.Proposal) -> None:
    mapping = proposal.mapping
    screen.say(f"{proposal.sheet.filename}: rows of kind {mapping.kind}, {len(proposal.sheet.rows)} of them.")
    rows = [[heading, field, mapping.units.get(heading, "")] for heading, field in mapping.columns.items()]
    rows += [[heading, "(kept as it stands)", ""] for heading in mapping.unmapped]
    screen.table(["heading in the file", "read as", "unit"], rows)


def _tell(done: intake.Imported, *, shown: bool) -> None:
    if not shown and not done.remembered:
        screen.say(f"Headings of {Path(done.file).name}, read as {done.kind}:")
        pairs = [f"{heading} → {field}" for heading, field in done.columns.items()]
        screen.say("  " + "; ".join(pairs), style="dim")
    for note in done.notes:
        screen.say(f"  note: {note}")
    filled = f"{len(done.filled)} filled in, " if done.filled else ""
    what = f"{done.new} new, {filled}{len(done.changed)} corrected, {done.unchanged} unchanged"
    if done.dry_run:
        screen.say(f"Dry run of {Path(done.file).name}: {what}. Nothing was recorded.")
    elif done.recorded:
        screen.say(f"Imported {Path(done.file).name} ({done.kind}): {what}.")
    else:
        screen.say(f"{Path(done.file).name} ({done.kind}): {what}. Nothing to record.")
