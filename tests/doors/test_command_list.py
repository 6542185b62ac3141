"""The list of commands: every one loads, explains itself, and stands in the manual."""

import importlib
import inspect
from pathlib import Path

import pytest

from findhold.cli.ondemand import COMMANDS

ROOT = Path(__file__).parents[2]
MANUAL = "\n".join(path.read_text(encoding="utf-8") for path in [ROOT / "README.md", *(ROOT / "docs").rglob("*.md")])


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_loads_and_has_help_for_a_newcomer(findhold, name):
    listed = COMMANDS[name]
    function = getattr(importlib.import_module(f"findhold.cli.{listed.module}"), listed.function)
    assert inspect.getdoc(function)
    done = findhold(name, "--help")
    assert done.code == 0
    assert inspect.getdoc(function).split()[0] in done.out
    assert max(map(len, done.out.splitlines())) <= 80
    assert "--json" in done.out


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_stands_in_the_manual(name):
    assert f"findhold {name}" in MANUAL


def test_the_list_of_commands_loads_none_of_them(findhold):
    import subprocess
    import sys

    code = (
        "import sys; sys.argv = ['findhold', '--help']\n"
        "from findhold.cli.main import main\n"
        "try: main()\nexcept SystemExit: pass\n"
        "heavy = {'numpy', 'sqlalchemy', 'typst', 'openpyxl'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, capture_output=True).returncode == 0


def test_a_word_that_is_no_command_is_refused(findhold):
    done = findhold("lst")
    assert done.code == 2
    assert "No such command" in done.text
