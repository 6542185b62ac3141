"""plan and keep: for finds of a ledger, or for one scenario file without a ledger.

A scenario needs no database and no document engine, so the service of the ledger is loaded only where it is called.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from findhold.cli import screen, telling
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption, leave
from findhold.cli.commands_crate import CrateWords
from findhold.cli.commands_crate import crates as load_crates
from findhold.cli.scenario_options import one_folder, refuse_beside_file
from findhold.cli.telling_cushion import no_cushion
from findhold.errors import BadInput

if TYPE_CHECKING:
    from findhold.service import holds, packup, whatif

Finds = Annotated[
    list[str] | None,
    typer.Argument(metavar="[FIND ... | SCENARIO.toml]", help="Numbers of finds, or one scenario file."),
]
AllOption = Annotated[bool, typer.Option("--all", help="Every find of the site.")]
PackedOption = Annotated[
    str | None,
    typer.Option("--packed-at", metavar="TIME", help="When the lid was closed, e.g. 2026-07-29T16:30+01:00."),
]
MembersOption = Annotated[int, typer.Option(metavar="N", help="Members of the forecast's ensemble.")]


def plan(
    finds: Finds = None,
    ledger: LedgerOption = None,
    every: AllOption = False,
    site: SiteOption = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FOLDER",
            help="Also forecast, and write sheets, labels, calendar and table here; of a scenario its drawings only.",
        ),
    ] = None,
    barrier: Annotated[
        str | None,
        typer.Option(metavar="MATERIAL", help="Between find and wrapping, e.g. foil; 'none' for none."),
    ] = None,
    wrapping: Annotated[str | None, typer.Option(metavar="MATERIAL", help="Wrapping other than tissue.")] = None,
    box: Annotated[str | None, typer.Option(metavar="NAME", help="A box of the stock, instead of the best.")] = None,
    packed_at: PackedOption = None,
    override: Annotated[
        list[str] | None,
        typer.Option(metavar="MATERIAL:RULE", help="Let a forbidden pair pass; needs a named person and --reason."),
    ] = None,
    allowed_by: Annotated[
        str | None,
        typer.Option("--allowed-by", metavar="NAME", help="Who lets it pass, if not the one who records (--person)."),
    ] = None,
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why a rule is overridden.")] = "",
    drawings: Annotated[
        Path | None,
        typer.Option("--drawings", metavar="FOLDER", help="Also draw sections, plan and steps here (SVG and PDF)."),
    ] = None,
    crates: Annotated[
        Path | None,
        typer.Option("--crates", metavar="FILE", help="Load things into crates, or several finds into one box."),
    ] = None,
    members: MembersOption = 1000,
    full: Annotated[bool, typer.Option("--full", help="Show every conflict, reason, blank and source.")] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Work it out, record nothing.")] = False,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Choose box, bed and dose; say what may not touch the find. With --out, make all that a ledger's find needs."""
    if crates is not None:
        named = tuple(finds or ())
        load_crates(
            CrateWords(
                file=crates, finds=named, every=every, ledger=ledger, site=site, person=person, out=out, as_json=as_json
            )
        )
        return
    scenario = _scenario(finds)
    if scenario is not None:
        given = {"--box": box, "--barrier": barrier, "--wrapping": wrapping, "--packed-at": packed_at, "--site": site}
        refuse_beside_file(scenario, given, every=every)
        passed = _overrides(override, reason, allowed_by or person)
        leave(_plan_scenario(scenario, passed, one_folder(scenario, out, drawings), full=full, as_json=as_json))
        return
    from findhold.service import holds, office, packup, requests

    added = requests.PlanWords(
        barrier=barrier,
        wrapping=wrapping,
        box=box,
        packed_at=packed_at,
        overrides=tuple(override or ()),
        reason=reason,
        person=person,
        allowed_by=allowed_by,
    )
    request = requests.hold_request(_numbers(finds, every), site, added, members=members, record=not dry_run)
    with office.office(ledger, person=person) as desk, screen.progress("planning") as moved:
        if out is not None:
            _pack_up(packup.pack_up(desk, request, out, moved, drawings), as_json)
            return
        done = holds.plan_finds(desk, request, moved)
        made = [] if drawings is None else packup.draw_boxes(desk, done.site, done.held, drawings)
    files = tuple(str(file) for file in made)
    _show_all(done, as_json, partial(telling.tell_plan, full=full), files if drawings is not None else None)
    _say_undrawn([one.shape for one in done.held if drawings is not None], as_json)
    _say_files(files, as_json)
    stopped = any(one.plan.stopped or no_cushion(one.shape) for one in done.held)
    leave(THE_ANSWER_IS_NO if done.refused or stopped else OK)


def keep(
    finds: Finds = None,
    ledger: LedgerOption = None,
    every: AllOption = False,
    site: SiteOption = None,
    packed_at: PackedOption = None,
    members: MembersOption = 1000,
    seed: Annotated[int, typer.Option(metavar="N", help="Of the ensemble; the same seed gives the same answer.")] = 1,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FOLDER", help="Also draw charts (SVG) and the forecast sheet (PDF)."),
    ] = None,
    ways: Annotated[
        bool, typer.Option("--options", help="Rank what would help, also when the opening can be kept.")
    ] = False,
    full: Annotated[bool, typer.Option("--full", help="Show every assumption.")] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Work it out, record nothing.")] = False,
    closure: Annotated[
        str | None,
        typer.Option("--closure", metavar="NAME", help="Plan a closure: next, its first day, or words of its reason."),
    ] = None,
    choose: Annotated[
        list[str] | None,
        typer.Option("--choose", metavar="FIND=WAY", help="Record the way chosen; none takes it back."),
    ] = None,
    done: Annotated[
        list[str] | None, typer.Option("--done", metavar="FIND", help="What was chosen for it was done.")
    ] = None,
    duty: Annotated[str, typer.Option("--duty", metavar="NAME", help="Who comes on the closed days.")] = "",
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why, for what is recorded.")] = "",
    sheet: Annotated[
        Path | None, typer.Option("--sheet", metavar="FILE", help="Print the closure plan on one page: a PDF.")
    ] = None,
    at: Annotated[str | None, typer.Option("--at", metavar="TIME", help="Plan the closure as seen then.")] = None,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say how long a find may wait, what ends the wait, and what helps when that is too short."""
    if closure is not None:
        from findhold.cli.commands_closure import ClosureWords, plan_closure

        words = ClosureWords(
            finds=tuple(finds or ()),
            closure=closure,
            choose=tuple(choose or ()),
            done=tuple(done or ()),
            duty=duty,
            reason=reason,
            sheet=sheet,
            at=at,
            site=site,
            ledger=ledger,
            person=person,
            dry_run=dry_run,
            members=members,
            seed=seed,
            full=full,
            as_json=as_json,
        )
        plan_closure(words)
        return
    if choose or done or duty or sheet or at:
        raise BadInput(
            "--choose, --done, --duty, --sheet and --at are of a closure's plan",
            where="keep",
            do="Add --closure next, or the name of one",
        )
    scenario = _scenario(finds)
    if scenario is not None:
        refuse_beside_file(scenario, {"--packed-at": packed_at, "--site": site}, every=every)
        leave(_keep_scenario(scenario, (members, seed), out, ways=ways, full=full, as_json=as_json))
        return
    from findhold.service import requests

    added = requests.PlanWords(packed_at=packed_at)
    request = requests.hold_request(_numbers(finds, every), site, added, members=members, seed=seed, record=not dry_run)
    _keep_finds(replace(request, all_options=ways), (ledger, person), out, full=full, as_json=as_json)


def _keep_scenario(
    scenario: Path, ensemble: tuple[int, int], out: Path | None, *, ways: bool, full: bool, as_json: bool
) -> int:
    """Forecast one scenario (members, seed), draw it where a folder is named, tell it; the exit code."""
    from findhold.service import whatif

    members, seed = ensemble
    answer = whatif.keep_scenario(scenario, members=members, seed=seed, all_options=ways)
    files = () if out is None else _draw(answer, scenario, out)
    shape = answer.shape if out is None else {**answer.shape, "files": list(files)}
    _show(shape, as_json, lambda told: telling.tell_keep(told, with_find=False, full=full))
    _say_files(files, as_json)
    return THE_ANSWER_IS_NO if answer.shape["can_keep"] is False else OK


def _keep_finds(
    request: holds.HoldRequest, where: tuple[str | None, str | None], out: Path | None, *, full: bool, as_json: bool
) -> None:
    """Forecast finds of a ledger for a person, draw them where a folder is named, and tell them."""
    from findhold.service import holds, office, pictures

    ledger, person = where
    with office.office(ledger, person=person) as desk, screen.progress("forecasting") as moved:
        kept = holds.keep_finds(desk, request, moved)
        files = () if out is None else pictures.draw_finds(desk, kept.site, kept.held, out)
    made = files if out is not None else None
    _show_all(kept, as_json, lambda shape: telling.tell_keep(shape, with_find=True, full=full), made)
    _say_files(files, as_json)
    leave(THE_ANSWER_IS_NO if kept.refused or any(one.shape["can_keep"] is False for one in kept.held) else OK)


def _plan_scenario(
    scenario: Path, overrides: tuple[Any, ...], folder: Path | None, *, full: bool, as_json: bool
) -> int:
    """Plan the box of one scenario, draw it where a folder is named, tell it; the exit code."""
    from findhold.service import whatif

    answer = whatif.plan_scenario(scenario, overrides)
    files = _draw_box(answer, scenario, folder)
    shape = {**answer.shape, "files": list(files)} if folder else answer.shape
    _show(shape, as_json, partial(telling.tell_plan, full=full))
    if folder is not None:
        _say_undrawn([answer.shape], as_json)
    _say_files(files, as_json)
    return OK if answer.shape["can_pack"] and not no_cushion(answer.shape) else THE_ANSWER_IS_NO


def _overrides(pairs: list[str] | None, reason: str, person: str | None) -> tuple[Any, ...]:
    """What a named person lets pass in a scenario; nothing of the ledger is loaded when nothing is overridden."""
    if not pairs:
        return ()
    from findhold.service import requests

    return requests.overrides_of(requests.PlanWords(overrides=tuple(pairs), reason=reason, person=person))


def _draw_box(answer: whatif.PlanAnswer, scenario: Path, out: Path | None) -> tuple[str, ...]:
    """The drawings of a scenario's box; none where no folder is named, no box fits or the plan stops."""
    if out is None:
        return ()
    from findhold.service.office import wall_clock
    from findhold.service.packing import drawing

    plan = answer.plan
    if not drawing.drawable(plan):
        return ()
    box = drawing.DrawnBox(parts=(scenario.stem,), plan=plan, label=drawing.block_label(plan), what=plan.find)
    return drawing.write_drawings([box], out, date=wall_clock())


def _draw(answer: whatif.KeepAnswer, scenario: Path, out: Path) -> tuple[str, ...]:
    from findhold.service import pictures

    return pictures.draw_scenario(answer, scenario, out)


def _scenario(finds: list[str] | None) -> Path | None:
    """The scenario file, when one stands on the command line."""
    named = [text for text in finds or () if text.lower().endswith(".toml")]
    if not named:
        return None
    if len(finds or ()) > 1:
        raise BadInput(
            "a scenario file stands alone", where=named[0], do="Give one scenario file, or finds of a ledger"
        )
    return Path(named[0])


def _numbers(finds: list[str] | None, every: bool) -> tuple[str, ...]:
    if every == bool(finds):
        raise BadInput(
            "which finds?", do="Give their numbers, or --all for every find of the site, or one SCENARIO.toml"
        )
    return tuple(finds or ())


def _show(shape: dict[str, Any], as_json: bool, tell: Any) -> None:
    if as_json:
        screen.show_json(shape)
    else:
        tell(shape)


def _say_files(files: tuple[str, ...], as_json: bool) -> None:
    """The files made, one a line."""
    if files and not as_json:
        screen.say()
        for file in files:
            screen.say(f"  {file}")


def _say_undrawn(shapes: Sequence[dict[str, Any]], as_json: bool) -> None:
    """Which plans stop and are not drawn."""
    for shape in shapes:
        if not shape["can_pack"] and not as_json:
            words = f"{shape['find']}: its plan STOPS, so nothing is drawn. Settle what stops it, then plan it again."
            screen.say(words, style=screen.ACT)


def _show_all(done: holds.Holding, as_json: bool, tell: Any, files: tuple[str, ...] | None = None) -> None:
    shapes = [one.shape for one in done.held]
    refused = [{"find": number, "error": error.as_dict()} for number, error in done.refused]
    if as_json:
        single = len(shapes) == 1 and not refused
        made = {} if files is None else {"files": list(files)}
        screen.show_json({**shapes[0], **made} if single else {"finds": shapes, "refused": refused, **made})
        return
    for place, shape in enumerate(shapes):
        if place:
            screen.say()
        tell(shape)
    for number, error in done.refused:
        screen.say(f"Find {number} is left out: {error.sentence()}", style=screen.ACT)


def _pack_up(done: packup.PackedUp, as_json: bool) -> None:
    bad = done.stopped or done.refused or any(row.can_keep is False for row in done.rows)
    if as_json:
        from findhold.service import wire

        rows = wire.plain(done.rows)
        screen.show_json({"site": done.site, "finds": rows, "files": list(done.files)})
    else:
        tell_table(done)
    leave(THE_ANSWER_IS_NO if bad else OK)


def tell_table(done: packup.PackedUp) -> None:
    """The one table a finds officer works from, then what stops, then the files."""
    rows = [
        [
            row.find,
            f"{row.box or '-'}",
            f"{row.sheets} x {row.dose_g / row.sheets:.1f} g"
            if row.sheets
            else (f"{row.dose_g:.0f} g" if row.dose_g else "-"),
            _short(row.keep_until),
            row.governing_limit or "-",
            "" if row.open_at is None else f"{_short(row.open_at)} {_yes(row.can_keep)}",
            _short(row.next_check),
        ]
        for row in done.rows
    ]
    heads = ["find", "box", "dose", "keep until", "limit", "opening kept?", "next check"]
    screen.table(heads, rows, flex=("box", "limit"))
    for row in done.rows:
        if row.trouble:
            screen.say(f"STOP find {row.find}: {row.trouble}", style=screen.ACT)
        for question in row.questions:
            screen.say(f"? find {row.find}: {question}")
        if row.opening_closed:
            words = f"find {row.find}: its planned opening falls in a closure ({row.opening_closed}): book another day."
            screen.say(words, style=screen.ACT)
        if row.open_by is not None and row.keep_until is not None and row.open_by != row.keep_until.date():
            screen.say(f"find {row.find}: the last open day before its keep-until date is {_day(row.open_by)}.")
    screen.say()
    for file in done.files:
        screen.say(f"  {file}")


def _short(at: datetime | None) -> str:
    return "-" if at is None else f"{at.day} {at:%b}"


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _yes(verdict: bool | None) -> str:
    return {True: "yes", False: "NO", None: "?"}[verdict]
