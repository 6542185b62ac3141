"""Options that mean nothing beside a scenario file: refused, with the key that says it in the file."""

from __future__ import annotations

from pathlib import Path

from findhold.errors import BadInput

_KEYS = {
    "--box": "stock under [box]",
    "--barrier": "barrier under [wrapping]",
    "--wrapping": "material under [wrapping]",
    "--packed-at": "packed_at under [hold]",
}
"""Where a scenario file says what an option says of a find of a ledger."""


def refuse_beside_file(scenario: Path, given: dict[str, str | None], *, every: bool) -> None:
    """Refuse options that a scenario file answers itself, each with its key, and those of a ledger.

    Parameters
    ----------
    scenario : the file. given : options and what was typed; None where nothing was. every : whether --all was.

    Raises
    ------
    BadInput : any of them was given.
    """
    stated = [option for option, value in given.items() if value is not None]
    keys = [f"{option}: {_KEYS[option]}" for option in stated if option in _KEYS]
    if keys:
        named = " and ".join(option for option in stated if option in _KEYS)
        raise BadInput(
            f"{named} would not count: a scenario is worked out as its file says",
            where=scenario.name,
            do=f"Write it into the file ({'; '.join(keys)}) and leave the option out",
        )
    if stated or every:
        named = " and ".join([*stated, *(["--all"] if every else [])])
        do = "Leave it out, or name finds of a ledger instead of the file"
        raise BadInput(f"{named} is for a ledger; a scenario file is one find by itself", where=scenario.name, do=do)


def one_folder(scenario: Path, out: Path | None, drawings: Path | None) -> Path | None:
    """Where the drawings of a scenario go; None for nowhere. --out and --drawings both make them: only one is given."""
    if out is not None and drawings is not None:
        raise BadInput(
            "--out and --drawings both make the drawings of a scenario, and nothing else",
            where=scenario.name,
            do="Give one of them; labels and sheets carry a box number, which only a find of a ledger has",
        )
    return drawings or out
