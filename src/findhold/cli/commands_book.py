"""book: which find goes to which specialist when, what is late and why, what would help."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from findhold.cli import screen
from findhold.cli.ask import OK, THE_ANSWER_IS_NO, JsonOption, LedgerOption, PersonOption, SiteOption, leave

if TYPE_CHECKING:
    from datetime import date

    from findhold.service.bookings.answer import BookAnswer, BookedRow


DAY = "YYYY-MM-DD"


def book(
    find: Annotated[
        str | None, typer.Argument(metavar="[FIND | SCENARIO.toml]", help="A find to fix or weigh, or a scenario file.")
    ] = None,
    ledger: LedgerOption = None,
    site: SiteOption = None,
    on: Annotated[str | None, typer.Option("--on", metavar=DAY, help="Fix the find's appointment on this day.")] = None,
    with_: Annotated[str | None, typer.Option("--with", metavar="NAME", help="With whom it is fixed.")] = None,
    what: Annotated[str | None, typer.Option("--what", metavar="ANALYSIS", help="Which job. Default: opening.")] = None,
    half: Annotated[str | None, typer.Option("--half", metavar="HALF", help="morning or afternoon.")] = None,
    cancel: Annotated[bool, typer.Option("--cancel", help="The find's appointment no longer stands.")] = False,
    away: Annotated[str | None, typer.Option("--away", metavar="NAME", help="Somebody is away: plan anew.")] = None,
    begins: Annotated[str | None, typer.Option("--from", metavar=DAY, help="First day away.")] = None,
    ends: Annotated[str | None, typer.Option("--to", metavar=DAY, help="Last day away.")] = None,
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why away, or why a find counts more.")] = "",
    significance: Annotated[
        float | None, typer.Option(metavar="N", help="How much the find matters; 1 is usual.")
    ] = None,
    sensitivity: Annotated[float | None, typer.Option(metavar="N", help="How fast it suffers; 1 is usual.")] = None,
    until: Annotated[str | None, typer.Option("--until", metavar=DAY, help="Last day that may be booked.")] = None,
    promise: Annotated[
        bool, typer.Option("--promise", help="Record the plan: later plans move as little as can be.")
    ] = False,
    few_moves: Annotated[
        bool, typer.Option("--few-moves", help="Move as few promises as can be, before lateness counts.")
    ] = False,
    calendar: Annotated[
        Path | None, typer.Option("--calendar", "--ics", metavar="FILE.ics", help="Also write the plan as a calendar.")
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Work it out, record nothing.")] = False,
    at: Annotated[
        str | None, typer.Option("--at", metavar="TIME", help="As seen then, nothing recorded. Default: now.")
    ] = None,
    person: PersonOption = None,
    as_json: JsonOption = False,
) -> None:
    """Plan openings and analyses: who does what when, what is late and why, what would help."""
    if find is not None and find.lower().endswith(".toml"):
        from findhold.service.bookings.scenario import plan_scenario

        with screen.busy("planning"):
            answer = plan_scenario(Path(find))
    else:
        from findhold.service import office
        from findhold.service.bookings.planning import book_finds
        from findhold.service.bookings.typed import BookWords, book_request
        from findhold.service.rounds.moment import seen_from

        request = book_request(
            BookWords(
                find=find,
                on=on,
                with_=with_,
                what=what,
                half=half,
                cancel=cancel,
                away=away,
                begins=begins,
                ends=ends,
                reason=reason,
                significance=significance,
                sensitivity=sensitivity,
                until=until,
                site=site,
                promise=promise,
                few_moves=few_moves,
                dry_run=dry_run or at is not None,
                calendar=calendar,
            )
        )
        clock: dict[str, Any] = {} if at is None else {**seen_from(at)}
        with office.office(ledger, person=person, **clock) as desk, screen.busy("planning"):
            answer = book_finds(desk, request)
    _show(answer, as_json)
    leave(OK if answer.in_time else THE_ANSWER_IS_NO)


def _show(answer: BookAnswer, as_json: bool) -> None:
    if as_json:
        from findhold.service.wire import plain

        screen.show_json(plain(answer))
    else:
        tell(answer)


def tell(answer: BookAnswer) -> None:
    """The plan as text: by day, then what is late, what is left out, what would help, how good it is."""
    screen.say(answer.title, style="bold")
    for words in answer.recorded:
        screen.say(f"{words[0].upper()}{words[1:]}.")
    _table(answer)
    _tell_late(answer)
    for out in answer.left_out:
        screen.say(f"NOT PLANNED find {out.find}, {out.what}: {out.why}. {out.do}.", style=screen.ACT)
    for note in answer.notes:
        screen.say(f"! {note}", style=screen.ACT)
    for row in answer.bookings:
        if row.moved_from:
            screen.say(f"moved: find {row.find}, {row.what}, was {row.moved_from}.")
        if row.send_on:
            screen.say(f"send: find {row.find} leaves on {_day(row.send_on)} for {row.with_}.")
    _tell_helps(answer)
    _tell_proof(answer)
    if answer.calendar:
        screen.say(f"  {answer.calendar}")


def _tell_late(answer: BookAnswer) -> None:
    """What is late, worst first; jobs of one find that are late for one reason stand together."""
    groups: dict[tuple[str, str], list[BookedRow]] = {}
    for row in sorted(answer.bookings, key=lambda row: -row.weight * row.late_days):
        if row.late_days:
            why = (row.why_late or "").replace(f"does {row.what} ", "does it ").replace(f"for {row.what} ", "for it ")
            groups.setdefault((row.find, why), []).append(row)
    for (find, why), rows in groups.items():
        names = ", ".join(row.what for row in rows)
        text = f"LATE find {find}, {names}: {_days(rows[0].late_days)} after {_moment(rows[0])}; {why}."
        screen.say(text, style=screen.ACT)


def _table(answer: BookAnswer) -> None:
    rows, before = [], None
    for row in answer.bookings:
        day = _day(row.day)
        mark = "LATE" if row.late_days else "fixed" if row.fixed else "moved" if row.moved_from else ""
        rows.append(
            [
                day if day != before else "",
                f"{row.starts_at:%H:%M}",
                row.find,
                row.what,
                row.with_,
                f"{row.hours:g} h",
                mark,
            ]
        )
        before = day
    screen.table(["day", "from", "find", "what", "with", "bench", ""], rows, flex=("what", "with"))


def _tell_helps(answer: BookAnswer) -> None:
    if answer.remedies:
        screen.say("What would help, each planned anew:")
    for remedy in answer.remedies:
        finds = f"; in time then: {', '.join(remedy.in_time)}" if remedy.in_time else ""
        screen.say(f"  - {remedy.text}: {remedy.before_days:g} weighted days late become {remedy.after_days:g}{finds}.")
    if not answer.remedies:
        for row in answer.scarce[:3]:
            screen.say(
                f"  - an hour more of {row.with_} on {_day(row.day)} saves {row.saves_days_per_h:.1f} weighted days."
            )


def _tell_proof(answer: BookAnswer) -> None:
    words = []
    for level in answer.levels:
        if level.proved:
            words.append(f"{level.aim} {level.value:g} (proved least)")
        else:
            words.append(f"{level.aim} {level.value:g} (not below {level.bound:.1f}; gap {level.gap_percent:.2f} %)")
    if words:
        screen.say("; ".join(words) + ".")


def _moment(row: BookedRow) -> str:
    return "its limit" if row.due is None else f"{_day(row.due.date())} {row.due:%H:%M}"


def _days(days: float) -> str:
    return f"{days:g} day" if days == 1 else f"{days:g} days"


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
