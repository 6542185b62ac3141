"""Run the program as a person would, in this process: arguments in; exit code, text and errors out."""

import json
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from findhold.cli.main import main

sys.path.insert(0, str(Path(__file__).parent))

from conftest_web import make_browser, make_planned_ledger

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


@pytest.fixture(scope="package")
def planned_once(tmp_path_factory):
    """A ledger with finds 37 and 44 planned and forecast, made once."""
    folder = tmp_path_factory.mktemp("planned")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FINDHOLD_HOME", str(folder / "home"))
        return make_planned_ledger(folder, DEMO)


@pytest.fixture
def planned(planned_once, tmp_path, monkeypatch):
    """A copy of that ledger, for one test."""
    path = tmp_path / "wcr26.ledger"
    shutil.copy(planned_once, path)
    monkeypatch.setenv("FINDHOLD_LEDGER", str(path))
    return path


@pytest.fixture
def browser(planned):
    """A browser at the pages of that ledger, with Marian Holt signed in."""
    made = make_browser(planned)
    assert made.sign_in().status_code == 200
    return made
