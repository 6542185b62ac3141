"""A scenario sent as text by a browser or a program: checked like a file, but it may not speak of files here."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path, PurePosixPath
from typing import NoReturn, cast

from findhold.errors import BadInput
from findhold.service.scenario import Scenario, parse_scenario


class NoPlace(PurePosixPath):
    """Where a sent scenario stands: nowhere, so that no path written in it leads to a file of this computer."""

    def __truediv__(self, name: object) -> NoReturn:
        raise BadInput(
            f"a scenario that is sent cannot name a file ({str(name)[:80]!r})",
            where="scenario",
            do="Leave the key out, or run it on the command line where the file is",
        )


def sent_scenario(text: str) -> Scenario:
    """A scenario from its text; a key in it that names a file raises BadInput when it is read.

    Raises
    ------
    BadInput : it is not TOML. Mistakes : every unknown key, missing key and impossible value, at once.
    """
    read = parse_scenario(text, Path("scenario.toml"))
    return replace(read, folder=cast(Path, NoPlace(".")))
