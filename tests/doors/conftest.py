"""Run the program as a person would, in this process: arguments in; exit code, text and errors out."""

import json
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from findhold.cli.main import main

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"
EXAMPLES = Path(__file__).parents[2] / "examples"


@dataclass(frozen=True, kw_only=True)
class Run:
    """What a command gave back."""

    code: int
    out: str
    err: str

    @property
    def json(self):
        return json.loads(self.out)

    @property
    def text(self):
        """All that was printed, in one line, so that wrapping does not matter."""
        return " ".join((self.out + " " + self.err).split())


@pytest.fixture(autouse=True)
def at_home(tmp_path, monkeypatch):
    """Settings and files of the test's own; no terminal, so nothing is asked."""
    monkeypatch.setenv("FINDHOLD_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("FINDHOLD_PERSON", "Marian Holt")
    monkeypatch.delenv("FINDHOLD_LEDGER", raising=False)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def findhold(capsys, monkeypatch):
    """findhold("keep", "x.toml") -> Run."""

    def run(*args):
        monkeypatch.setattr(sys, "argv", ["findhold", *[str(arg) for arg in args]])
        capsys.readouterr()
        try:
            main()
            code = 0
        except SystemExit as left:
            code = left.code if isinstance(left.code, int) else (0 if left.code is None else 1)
        seen = capsys.readouterr()
        return Run(code=code, out=seen.out, err=seen.err)

    return run


@pytest.fixture
def withy_carr(findhold, tmp_path, monkeypatch):
    """A ledger with the demo's register, contexts, boxes, stores and closures imported."""
    ledger = tmp_path / "wcr26.ledger"
    monkeypatch.setenv("FINDHOLD_LEDGER", str(ledger))
    assert findhold("new", ledger, "--site", "WCR26", "--name", "Withy Carr").code == 0
    for name in ("people.csv", "contexts.csv", "stores.csv", "boxes.csv", "closures.csv", "finds_register.xlsx"):
        done = findhold("import", DEMO / name)
        assert done.code == 0, done.text
    return ledger
