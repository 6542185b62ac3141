"""Settings of this computer and of the person at it: which ledger, who writes, which device."""

from __future__ import annotations

import getpass
import os
import secrets
import tomllib
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_config_path

from findhold.errors import BadInput, LedgerTrouble, near_names

KEYS = ("ledger", "person")
SECTIONS = (
    "policy",
    "packing",
    "numbers",
    "labels",
    "cushion",
    "lift",
    "crates",
    "stores",
    "calendar",
    "people",
    "duty",
    "mail",
    "booking",
    "stock",
)
"""Sections of settings.toml that service.choices, service.rounds.chosen and service.bookings.chosen read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What settings.toml says; None for what it does not say."""

    ledger: str | None = None
    person: str | None = None


def settings_folder() -> Path:
    """The folder of settings.toml and the device's name; FINDHOLD_HOME moves it."""
    moved = os.environ.get("FINDHOLD_HOME")
    return Path(moved) if moved else user_config_path("findhold")


def settings_file() -> Path:
    """The settings file; it need not exist."""
    return settings_folder() / "settings.toml"


def read_settings() -> Settings:
    """The settings file, if there is one; raises BadInput when it cannot be understood."""
    file = settings_file()
    if not file.is_file():
        return Settings()
    try:
        values = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BadInput(
            f"the settings cannot be read ({error})", where=str(file), do="Mend the file or remove it"
        ) from error
    for section in SECTIONS:
        values.pop(section, None)
    for key in values:
        if key not in KEYS:
            near = near_names(key, [*KEYS, *SECTIONS])
            raise BadInput(
                f"unknown setting {key!r}",
                where=str(file),
                limit=", ".join([*KEYS, *(f"[{name}]" for name in SECTIONS)]),
                do=f"Did you mean {near[0]}?" if near else "Remove the line",
            )
        if not isinstance(values[key], str):
            raise BadInput(f"{key} must be text", where=str(file), do=f'Write {key} = "..."')
    return Settings(**values)


def ledger_path(given: str | None) -> Path:
    """The ledger to use: the one given, else FINDHOLD_LEDGER, else the setting; raises BadInput when there is none."""
    chosen = given or os.environ.get("FINDHOLD_LEDGER") or read_settings().ledger
    if not chosen:
        raise BadInput(
            "no ledger was named",
            do="Add --ledger FILE, or set FINDHOLD_LEDGER, or begin one: findhold new FILE --site CODE --name NAME",
        )
    return Path(chosen).expanduser()


def has_ledger() -> bool:
    """True when a ledger is named by the environment or the settings."""
    return bool(os.environ.get("FINDHOLD_LEDGER") or read_settings().ledger)


def person_name(given: str | None) -> str:
    """Who is writing: the one given, else FINDHOLD_PERSON, else the setting, else the login name."""
    return given or os.environ.get("FINDHOLD_PERSON") or read_settings().person or getpass.getuser()


def device_name() -> str:
    """This device's own short name, made once and kept."""
    file = settings_folder() / "device"
    try:
        if file.is_file():
            return file.read_text(encoding="ascii").strip()
        file.parent.mkdir(parents=True, exist_ok=True)
        name = "d-" + secrets.token_hex(5)
        file.write_text(name + "\n", encoding="ascii")
    except OSError as error:
        raise LedgerTrouble(
            f"this computer's name for the ledger cannot be kept ({error.strerror})",
            where=str(file),
            do="Set FINDHOLD_HOME to a folder you may write to",
        ) from error
    return name
