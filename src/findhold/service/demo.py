"""The demo: the main job on an invented site, from the files a finds officer would have to a folder ready to pack."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from importlib import resources
from pathlib import Path

from findhold.errors import BadInput
from findhold.service import founding, holds, intake, packup, plotting, proving, stores
from findhold.service.ledger_case import Asked
from findhold.service.office import Office, office
from findhold.service.packup import PackedUp, why_stopped
from findhold.service.storekeeping import moving

MARKER = "made-by-findhold-demo.txt"
CLOCK = datetime(2026, 7, 31, 17, 30, tzinfo=timezone(timedelta(hours=1)))
"""The moment at which the demo's clock stands: the evening before the last week before the closure."""
MONDAY = datetime(2026, 8, 3, 8, 30, tzinfo=timezone(timedelta(hours=1)))
"""The clock of the demo's second scene: the morning on which the logger of the second fridge is read."""
SERVED = MONDAY + timedelta(minutes=30)
"""The clock of the demo's pages."""
WITHY_CARR = founding.NewLedger(path=Path("wcr26.ledger"), site="WCR26", name="Withy Carr", jurisdiction="England")
ERLENMOOR = founding.NewLedger(
    path=Path("erm26.ledger"),
    site="ERM26",
    name="Erlenmoor",
    zone="Europe/Berlin",
    grid="ETRS89 / UTM zone 32N (EPSG:25832)",
    vertical_datum="DHHN2016",
    jurisdiction="Germany",
)
FILES = (
    "people.csv",
    "specialists.csv",
    "contexts.csv",
    "stores.csv",
    "shelves.csv",
    "boxes.csv",
    "closures.csv",
    "finds_register.xlsx",
    "samples.csv",
)
GERMAN_FILES = ("personen.csv", "befunde.csv", "lager.csv", "kisten.csv", "schliesszeiten.csv", "funde.csv")
BARRIERS = {"37": "aluminium foil", "55": "polyethylene film"}
"""What the finds officer of the demo decides when the rules stop tissue on finds planned for radiocarbon dating."""
SHELVED = {
    "37": ("Fridge 1", "1"),
    "41": ("Fridge 1", "2"),
    "42": ("Fridge 1", "2"),
    "44": ("Fridge 2", "2"),
    "45": ("Fridge 2", "4"),
    "48": ("Fridge 2", "3"),
    "52": ("Fridge 2", "3"),
    "55": ("Cool room", "A1"),
    "B216": ("Cool room", "A2"),
}
"""Where the demo's boxes are put."""

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoDone:
    """What the demo made."""

    folder: str
    ledger: str
    packed: PackedUp
    files: tuple[str, ...]
    events: int
    newest_hash: str


def demo_clock(ledger: Path) -> Callable[[], datetime]:
    """A clock that starts on the demo's Monday morning and runs on, so that its pages show a day at work.

    Raises
    ------
    BadInput : the ledger was not made by the demo: what is recorded in a real one carries the real time.
    """
    if not any((folder / MARKER).exists() for folder in list(ledger.resolve().parents)[:2]):
        raise BadInput(
            "this ledger was not made by the demo, and what is recorded in it must carry the real time",
            where="--demo-clock",
            do="Leave --demo-clock out, or make a demo first: findhold demo",
        )
    begun = time.monotonic()
    return lambda: SERVED + timedelta(seconds=time.monotonic() - begun)


def run_demo(folder: Path, say: Say) -> DemoDone:
    """Run the whole main job into a folder.

    Raises
    ------
    BadInput : the folder exists and was not made by an earlier demo.
    """
    _fresh(folder)
    inputs = folder / "input"
    shutil.copytree(str(resources.files("findhold").joinpath("demo")), inputs)
    ledger = folder / "wcr26.ledger"
    _begin(WITHY_CARR, ledger, say)
    with office(str(ledger), person="Marian Holt", now=lambda: CLOCK) as desk:
        _import(desk, inputs, FILES, say)
        packed = _plan(desk, folder / "pack", say)
        drawn = _plot(desk, inputs / "outlines.csv", folder / "plans", say)
    _second_site(folder, inputs, say)
    proof = proving.prove_ledger(proving.ProofRequest(ledger=str(ledger)))
    say(f"findhold prove {ledger}")
    say(f"    whole: {proof.events} events, newest seal {proof.newest_hash[:16]}")
    return DemoDone(
        folder=str(folder),
        ledger=str(ledger),
        packed=packed,
        files=(*packed.files, *drawn),
        events=proof.events,
        newest_hash=proof.newest_hash,
    )


def run_monday(folder: Path, say: Say) -> stores.StoreTold:
    """The second scene: the logger of the second fridge is read, which was without power for 31 hours.

    The file is the demo's own, as far as it could have been read by then.
    """
    lines = (folder / "input" / "fridge2_logger.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    until = f"{MONDAY.astimezone(UTC):%Y-%m-%d %H:%M}"
    file = folder / "input" / "fridge2_logger_monday.csv"
    file.write_text("".join([lines[0], *(line for line in lines[1:] if line[:16] <= until)]), encoding="utf-8")
    say(f'findhold import --logger {file.name} --store "Fridge 2"')
    with office(str(folder / "wcr26.ledger"), person="Idris Penhale", now=lambda: MONDAY) as desk:
        return stores.record_log(desk, stores.LogRequest(file=file, store="Fridge 2"))


def _fresh(folder: Path) -> None:
    """An empty folder: made, or emptied when an earlier demo made it, and never anybody else's."""
    if folder.exists():
        if not (folder / MARKER).is_file():
            raise BadInput(
                "this folder is not from an earlier demo, so it is left alone",
                where=str(folder),
                do="Give another folder: findhold demo --out FOLDER",
            )
        shutil.rmtree(folder)
    folder.mkdir(parents=True)
    (folder / MARKER).write_text("Everything in this folder is invented, and is replaced by the next demo.\n")


def _begin(ledger: founding.NewLedger, path: Path, say: Say) -> None:
    say(f'findhold new {path} --site {ledger.site} --name "{ledger.name}"')
    founding.new_ledger(replace(ledger, path=path, person="Marian Holt"), now=lambda: CLOCK)


def _import(desk: Office, folder: Path, names: tuple[str, ...], say: Say) -> None:
    for name in names:
        done = intake.import_file(desk, intake.ImportRequest(file=folder / name))
        say(f"findhold import {name}")
        say(f"    {done.new} new ({done.kind})" + "".join(f"; {note}" for note in done.notes[:1]))


def _plan(desk: Office, out: Path, say: Say) -> PackedUp:
    say("findhold plan --all")
    first = holds.plan_finds(desk, holds.HoldRequest(record=False))
    for one in first.held:
        if one.plan.stopped:
            say(f"    STOP find {one.number}: {why_stopped(one)}")
    for number, barrier in BARRIERS.items():
        say(f'findhold plan {number} --barrier "{barrier}"')
        holds.plan_finds(desk, holds.HoldRequest(finds=(number,), asked=Asked(barrier=barrier)))
    say(f"findhold plan --all --out {out}")
    packed = packup.pack_up(desk, holds.HoldRequest(), out)
    for number, (store, shelf) in SHELVED.items():
        say(f'findhold move {number} --to "{store}" --shelf {shelf}')
        moving.move(desk, moving.MoveRequest(find=number, to=store, shelf=shelf))
    return packed


def _plot(desk: Office, outlines: Path, out: Path, say: Say) -> tuple[str, ...]:
    files: list[str] = []
    for sheet, (feature, pairs) in enumerate({"214": (("37", "44"), ("37", "52")), "231": ()}.items(), 1):
        asked = "".join(f" --distance {a},{b}" for a, b in pairs)
        say(f"findhold plot {feature} --outlines outlines.csv --paper A3{asked}")
        request = plotting.PlotRequest(
            feature=feature,
            outlines=outlines,
            sheet_no=str(sheet),
            pairs=pairs,
            out=out / f"WCR26-{feature}-plan",
            paper="A3",
        )
        files += plotting.plot_feature(desk, request).files
    return tuple(files)


def _second_site(folder: Path, inputs: Path, say: Say) -> None:
    """A site in another country: other grid, other headings, other decimal mark."""
    ledger = folder / "erlenmoor" / "erm26.ledger"
    ledger.parent.mkdir()
    _begin(ERLENMOOR, ledger, say)
    with office(str(ledger), person="Marian Holt", now=lambda: CLOCK) as desk:
        _import(desk, inputs / "second", GERMAN_FILES, say)
        say("findhold plan --all --out erlenmoor/pack")
        packup.pack_up(desk, holds.HoldRequest(), ledger.parent / "pack")
