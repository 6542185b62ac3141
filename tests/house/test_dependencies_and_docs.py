"""What the project leans on is written down, locked and licensed; what the docs say can be found."""

import pathlib
import re
import tomllib

import pytest

from findhold.service.scenario_keys import FREE_SECTIONS

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCKS = sorted((ROOT / "requirements").glob("*.txt"))
DOCS = sorted(path for path in (ROOT / "docs").rglob("*.md"))
PAGES = [*DOCS, *(ROOT / name for name in ("README.md", "CHANGELOG.md", "bench/README.md", "builders/README.md"))]


def bare_name(requirement: str) -> str:
    return re.split(r"[<>=!~\[; ]", requirement, maxsplit=1)[0].strip()


RUN_TIME = [bare_name(line) for line in PROJECT["project"]["dependencies"]]
FOR_TESTS = [bare_name(line) for group in ("dev", "build") for line in PROJECT["dependency-groups"][group]]


@pytest.mark.parametrize("name", [*RUN_TIME, *FOR_TESTS])
def test_the_dependency_has_a_line_that_says_why(name):
    lines = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8").splitlines()
    rows = [line for line in lines if f"`{name}`" in line]
    assert rows
    assert all(len(row.strip("| ").split("|")[-1].split()) >= 2 for row in rows)


def test_no_dependency_is_explained_that_is_not_there():
    text = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line.startswith("| `")]
    explained = {name for row in rows for name in re.findall(r"`([^`]+)`", row.split("|")[1])}
    assert explained - {*RUN_TIME, *FOR_TESTS} == set()


@pytest.mark.parametrize("path", LOCKS, ids=lambda p: p.name)
def test_every_locked_package_has_hashes_and_no_address(path):
    text = path.read_text(encoding="utf-8")
    assert "://" not in text
    assert not re.search(r"^\s*-(i|f|-index|-find|-extra)", text, re.MULTILINE)
    packages = re.split(r"\n(?=[A-Za-z0-9])", text.strip())
    pinned = [block for block in packages if re.match(r"[A-Za-z0-9_.\[\]-]+==", block)]
    assert pinned
    assert [block.splitlines()[0] for block in pinned if "--hash=sha256:" not in block] == []


@pytest.mark.parametrize(("names", "lock"), [(RUN_TIME, "run.txt"), ([*RUN_TIME, *FOR_TESTS[:-2]], "dev.txt")])
def test_every_dependency_is_locked(names, lock):
    text = (ROOT / "requirements" / lock).read_text(encoding="utf-8").lower()
    locked = {re.sub(r"[-_.]+", "-", name) for name in re.findall(r"^([a-z0-9_.-]+)==", text, re.MULTILINE)}
    assert [name for name in names if re.sub(r"[-_.]+", "-", name.lower()) not in locked] == []


def test_vendored_fonts_carry_their_licence():
    folders = {path.parent for ending in ("ttf", "otf", "woff2") for path in (ROOT / "src").rglob(f"*.{ending}")}
    assert folders
    assert [folder.name for folder in folders if not list(folder.glob("LICEN[CS]E*"))] == []


def test_the_project_has_its_licence():
    assert PROJECT["project"]["license"] == "Apache-2.0"
    assert "Apache License" in (ROOT / "LICENSE").read_text(encoding="utf-8")[:400]


def test_one_word_runs_format_lint_types_imports_and_tests():
    text = (ROOT / "tools" / "dev.py").read_text(encoding="utf-8")
    for tool in ("ruff", "format", "mypy", "lint_imports", "pytest"):
        assert tool in text
    assert "tools/dev.py check" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_import_contracts_name_every_floor():
    (stairs,) = [c for c in PROJECT["tool"]["importlinter"]["contracts"] if c["type"] == "layers"]
    floors = {name for layer in stairs["layers"] for name in re.split(r"[ |]+", layer)}
    source = ROOT / "src" / "findhold"
    packages = {path.parent.name for path in source.glob("*/__init__.py")}
    modules = {path.stem for path in source.glob("*.py") if path.stem not in ("__init__", "__main__")}
    assert (packages | modules) - floors == set()
    assert stairs["exhaustive"]


# --- pages -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", [p for p in PAGES if p.exists()], ids=lambda p: p.relative_to(ROOT).as_posix())
def test_every_link_of_the_page_leads_somewhere(path):
    text = re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    links = re.findall(r"\]\(([^)#\s]+)[^)]*\)", text)
    local = [link for link in links if not re.match(r"[a-z]+:", link)]
    assert [link for link in local if not (path.parent / link).exists()] == []


@pytest.mark.parametrize(
    "name", ["architecture", "glossary", "dependencies", "contributing", "scenario-file", "a-day-in-the-finds-room"]
)
def test_the_page_is_there_and_is_a_page(name):
    text = (ROOT / "docs" / f"{name}.md").read_text(encoding="utf-8")
    assert text.startswith("# ")
    assert 20 <= len(text.splitlines()) <= 300


def test_decisions_are_numbered_without_gaps_and_one_page_each():
    papers = sorted((ROOT / "docs" / "decisions").glob("*.md"))
    assert [int(path.name[:4]) for path in papers] == list(range(1, len(papers) + 1))
    for path in papers:
        text = path.read_text(encoding="utf-8")
        assert len(text.splitlines()) <= 60
        for part in ("## Question", "## Decision", "## Consequences"):
            assert part in text


def test_the_architecture_names_every_package():
    text = (ROOT / "docs" / "architecture.md").read_text(encoding="utf-8")
    packages = [path.parent.name for path in (ROOT / "src" / "findhold").glob("*/__init__.py")]
    assert [name for name in packages if f"`{name}/`" not in text] == []


def test_the_glossary_fixes_the_words_of_the_house():
    text = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
    words = ("hold", "keep-until date", "limit", "dose", "bed", "lid gap", "round", "mass band", "story", "question")
    more = ("passport", "closure", "speaking code", "short code", "governing limit", "plan turn", "fold", "event")
    assert [word for word in (*words, *more) if f"**{word}**" not in text] == []


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.toml")), ids=lambda p: p.name)
def test_every_key_of_the_example_is_in_the_manual(path):
    manual = (ROOT / "docs" / "scenario-file.md").read_text(encoding="utf-8")
    scenario = tomllib.loads(path.read_text(encoding="utf-8"))
    missing = []
    for table, content in scenario.items():
        if not isinstance(content, dict):
            missing += [] if f"`{table}`" in manual else [table]
            continue
        missing += [] if f"`[{table}]`" in manual else [f"[{table}]"]
        if table in FREE_SECTIONS:  # its keys are names of the writer's own
            continue
        missing += [f"{table}.{key}" for key in content if f"`{key}`" not in manual]
    assert missing == []
