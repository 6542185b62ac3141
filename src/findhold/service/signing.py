"""Signing in: who is at the page, by choice on one's own computer, by passphrase on the network."""

from __future__ import annotations

import json
import os
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from findhold.errors import BadInput, FindholdError, LedgerTrouble, UnknownName
from findhold.record.events import UNIT, NewEvent, stream_of
from findhold.service.office import Office
from findhold.service.settings import read_settings, settings_folder
from findhold.service.tries import Tries
from findhold.service.visits import Visit, new_visit

SHORTEST = 12
LONGEST = 256
"""Length of a passphrase [characters]: three or four plain words (judgement; common advice asks for length)."""


class SignInNeededError(FindholdError):
    """Nobody has signed in, or the visit has ended."""

    code = "sign_in"


class RefusedError(FindholdError):
    """Not this person, not this passphrase, not from there."""

    code = "refused"


class TooOftenError(FindholdError):
    """Too many wrong tries."""

    code = "too_often"


@dataclass(frozen=True, slots=True, kw_only=True)
class SignIn:
    """A sign-in as typed. needed : a passphrase is asked of everybody. address : where it comes from."""

    person: str
    passphrase: str = ""
    needed: bool = False
    address: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """One name to choose, and whether its passphrase is asked for."""

    name: str
    role: str
    asks: bool


def people(office: Office, *, needed: bool) -> tuple[Who, ...]:
    """Everybody who can sign in: the ledger's people, and on one's own computer the person of the settings.

    Parameters
    ----------
    needed : a passphrase is asked of everybody, so only people who have one can sign in.
    """
    known = {thing.number: str(thing.facts.get("role") or "") for thing in office.ledger.states("person")}
    own = read_settings().person
    if own and not needed:
        known.setdefault(own, "this computer's person")
    if not known and not needed:
        known[office.person] = "this computer's person"
    kept = read_passphrases()
    return tuple(
        Who(name=name, role=role, asks=needed or name in kept)
        for name, role in known.items()
        if not needed or name in kept
    )


def sign_in(office: Office, request: SignIn, tries: Tries, now_s: float) -> Visit:
    """A new visit, recorded in the ledger; a wrong passphrase is recorded too.

    Raises
    ------
    UnknownName : nobody of that name can sign in here.
    TooOftenError : wait before trying again. RefusedError : the passphrase is wrong.
    """
    who = {one.name: one for one in people(office, needed=request.needed)}.get(request.person)
    names = (f"person {request.person}", f"address {request.address}")
    if who is None or who.asks:
        _wait(tries, names, now_s)
    if who is None:
        tries.wrong(names[1], now_s)
        raise UnknownName("person who can sign in", request.person, [one.name for one in people(office, needed=False)])
    turn = 0
    if who.asks:
        turn = check_passphrase(who.name, request.passphrase)
        if not turn:
            for name in names:
                tries.wrong(name, now_s)
            _record(office, "visit.refused.1", who.name, {"address": request.address})
            raise RefusedError(
                "the passphrase is not right", where=who.name, do="Type it again; capitals and spaces count"
            )
        for name in names:
            tries.right(name)
    visit = new_visit(who.name, now_s, turn=turn, checked=who.asks)
    _record(office, "visit.begun.1", who.name, {"address": request.address, "passphrase": who.asks})
    return visit


def sign_out(office: Office, visit: Visit) -> None:
    """Record that a person left."""
    if not visit.guest:
        _record(office, "visit.ended.1", visit.person, {})


def still_good(visit: Visit, *, needed: bool) -> bool:
    """Whether a visit may go on: its passphrase was not changed or taken away, and was asked for where it is needed."""
    if visit.guest:
        return False
    turn = read_passphrases().get(visit.person, {}).get("turn", 0)
    return turn == visit.turn and (visit.checked or not needed)


def set_passphrase(office: Office, person: str, passphrase: str) -> None:
    """Give a person of the ledger a passphrase, or a new one; visits under the old one end.

    Raises
    ------
    UnknownName : the ledger has no such person. BadInput : too short, too long, or just the person's name.
    """
    known = [thing.number for thing in office.ledger.states("person")]
    if person not in known:
        raise UnknownName("person", person, known)
    if not SHORTEST <= len(passphrase) <= LONGEST or passphrase.strip().casefold() == person.casefold():
        raise BadInput(
            "this passphrase cannot be used",
            where=person,
            limit=f"{SHORTEST} to {LONGEST} characters, and not the person's name",
            do="Take three or four plain words that nobody would put together",
        )
    from argon2 import PasswordHasher

    kept = read_passphrases()
    turn = max((one["turn"] for one in kept.values()), default=0) + 1
    kept[person] = {"hash": PasswordHasher().hash(passphrase), "turn": turn}
    _write(kept)


def remove_passphrase(person: str) -> None:
    """Take a person's passphrase away, which ends their visits; raises UnknownName when there is none."""
    kept = read_passphrases()
    if person not in kept:
        raise UnknownName("person with a passphrase", person, list(kept))
    del kept[person]
    _write(kept)


def check_passphrase(person: str, passphrase: str) -> int:
    """The turn of a person's passphrase when it is right, 0 when it is wrong; takes as long for an unknown person."""
    from argon2 import PasswordHasher
    from argon2.exceptions import InvalidHashError, VerificationError

    kept = read_passphrases().get(person)
    hasher = PasswordHasher()
    try:
        hasher.verify(kept["hash"] if kept else _nobody(hasher), passphrase[: LONGEST + 1])
    except (VerificationError, InvalidHashError):
        return 0
    return int(kept["turn"]) if kept else 0


def read_passphrases() -> dict[str, dict[str, Any]]:
    """Hashes by person, from the settings folder; they never stand in the ledger, which is handed on."""
    file = _file()
    try:
        return dict(json.loads(file.read_text(encoding="utf-8"))) if file.is_file() else {}
    except (OSError, ValueError) as error:
        raise LedgerTrouble(
            "the file of passphrases cannot be read", where=str(file), do="Remove it and set the passphrases again"
        ) from error


_NOBODY: list[str] = []


def _nobody(hasher: Any) -> str:
    if not _NOBODY:
        _NOBODY.append(hasher.hash(secrets.token_hex(16)))
    return _NOBODY[0]


def _wait(tries: Tries, names: tuple[str, ...], now_s: float) -> None:
    wait_s = max(tries.wait_s(name, now_s) for name in names)
    if wait_s > 0:
        raise TooOftenError(
            "too many wrong tries", limit=f"try again in {wait_s:.0f} s", do="Wait, then type the passphrase again"
        )


def _record(office: Office, word: str, person: str, body: dict[str, Any]) -> None:
    event = NewEvent(word=word, stream=stream_of("visit", UNIT, person), body={"person": person, **body})
    with office.ledger.writing(office.stamp()) as writing:
        writing.append([event])


def _file() -> Path:
    return settings_folder() / "passphrases.json"


def _write(kept: dict[str, dict[str, Any]]) -> None:
    file = _file()
    building = file.with_name(f".{file.name}.{secrets.token_hex(4)}")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with os.fdopen(os.open(building, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as out:
            json.dump(kept, out, ensure_ascii=False, indent=1)
        building.replace(file)
    except OSError as error:
        building.unlink(missing_ok=True)
        raise LedgerTrouble(
            f"the passphrases cannot be kept ({error.strerror})",
            where=str(file),
            do="Set FINDHOLD_HOME to a folder you may write to",
        ) from error
