"""serve and passphrase: the pages in a browser, on this computer or on the unit's network."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import datetime
from typing import Annotated

import typer

from findhold.cli import screen
from findhold.cli.ask import JsonOption, LedgerOption
from findhold.errors import BadInput


def serve(
    ledger: LedgerOption = None,
    port: Annotated[int, typer.Option(metavar="N", help="0 takes any that is free.", min=0, max=65535)] = 8470,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open the browser.")] = True,
    lan: Annotated[
        bool, typer.Option("--lan", help="Serve the local network too, to people who have a passphrase.")
    ] = False,
    tls: Annotated[
        bool, typer.Option("--tls", help="Serve over https with a certificate of this computer's own authority.")
    ] = False,
    demo_clock: Annotated[
        bool, typer.Option("--demo-clock", help="Let the clock of a demo's ledger stand on its Monday morning.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Serve the pages on this computer and open the browser; stop with Ctrl+C."""
    from findhold.app.running import Ready, ServeRequest, ready

    request = ServeRequest(ledger=ledger, port=port, lan=lan, tls=tls, browser=browser)
    clock = _clock(ledger, demo=demo_clock)
    made: Ready = ready(request, now=clock)
    if as_json:
        screen.show_json(
            {
                "ledger": made.ledger,
                "address": made.address,
                "addresses": list(made.addresses),
                "fingerprint": made.fingerprint,
                "people": list(made.people),
            }
        )
        sys.stdout.flush()
    else:
        if demo_clock:
            screen.say(f"The demo's clock: {clock():%A %d %B %Y, %H:%M}.")
        _tell(made.ledger, made.address, made.addresses, made.fingerprint)
        if lan and not tls:
            screen.say(
                "Over plain http tablets cannot use their camera nor work without a connection, and passphrases can be"
                " read by others on the network: --tls mends all three.",
                style=screen.ACT,
            )
    made.run()


def _clock(ledger: str | None, *, demo: bool) -> Callable[[], datetime]:
    from findhold.service import office, settings

    if not demo:
        return office.wall_clock
    from findhold.service.demo import demo_clock

    return demo_clock(settings.ledger_path(ledger))


def _tell(ledger: str, address: str, addresses: tuple[str, ...], fingerprint: str) -> None:
    from findhold.service.network import address_blocks
    from findhold.service.trust import trust_steps

    screen.say(f"{ledger} is served at {address}", style="bold")
    for other in addresses:
        screen.say(f"On the network: {other}")
    if addresses:
        sys.stdout.write(address_blocks(addresses[0]))
    if fingerprint:
        screen.say()
        screen.say("So that a tablet trusts this computer, once for each tablet:", style="bold")
        for number, step in enumerate(trust_steps((*addresses, address)[0], fingerprint), 1):
            screen.say(f"  {number}. {step}")
        screen.say()
    screen.say("Stop with Ctrl+C.")


def passphrase(
    person: Annotated[str, typer.Argument(metavar="NAME", help="A person of the ledger.")],
    ledger: LedgerOption = None,
    remove: Annotated[
        bool, typer.Option("--remove", help="Take the passphrase away; ends the person's visits.")
    ] = False,
    stdin: Annotated[bool, typer.Option("--stdin", help="Read the passphrase from standard input.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Give a person a passphrase for the pages, or a new one; it is kept hashed on this computer, not in the ledger."""
    from findhold.service import office, signing

    if remove:
        signing.remove_passphrase(person)
    else:
        text = sys.stdin.readline().rstrip("\r\n") if stdin else _typed_twice()
        with office.office(ledger, read_only=True) as desk:
            signing.set_passphrase(desk, person, text)
    if as_json:
        screen.show_json({"person": person, "has_passphrase": not remove})
    else:
        screen.say(f"{person} has {'no passphrase any more' if remove else 'a new passphrase'}.")


def _typed_twice() -> str:
    """The passphrase, typed unseen and once more."""
    import getpass

    if not sys.stdin.isatty():
        raise BadInput("nobody is there to type a passphrase", do="Add --stdin and give it on standard input")
    first = getpass.getpass("Passphrase: ")
    if getpass.getpass("Once more: ") != first:
        raise BadInput("the two are not the same", do="Run the command again; nothing was kept")
    return first
