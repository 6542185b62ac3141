"""Some words never enter the project: addresses of registries, paths of one machine, talk about how it was made.

Each pattern is put together from pieces, so that this file does not contain what it looks for.
"""

import pathlib
import re
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]
NOT_TEXT = {".ttf", ".otf", ".png", ".jpg", ".pdf", ".xlsx", ".ico", ".gz", ".woff2", ".wasm"}


def joined(*pieces: str) -> str:
    return "".join(pieces)


PATTERNS = {
    "a registry's host": "|".join(
        (joined("pypi", r"\.org"), joined("python", "hosted"), joined("npm", "js"), joined("registry", r"\.")),
    ),
    "a path of one machine": "|".join(
        joined(r"(?<![\w.:/-])/", word, r"(?=/)")
        for word in ("work", "tmp", "root", "home", "Users", "mnt", "opt", "var")
    ),
    "talk of how it was made": "|".join(
        (
            joined(r"\bses", r"sions?\b"),
            joined(r"\bhel", r"pers?\b"),
            joined("issue ", "number"),
            joined(r"\bpro", r"mpts?\b"),
        ),
    ),
    "a tool that wrote it": "|".join(
        joined(r"\b", *word)
        for word in (("cla", "ude"), ("anth", "ropic"), ("open", r"ai\b"), ("chat", "gpt"), ("cop", "ilot"))
    ),
    "a sheet that stays outside": "|".join(
        joined(r"\b", word, r"\.md\b")
        for word in ("design", "style", "libraries", "keeping", "guidance", "packing", "records")
    )
    + "|"
    + joined(r"\bsha", "red/"),
    "work left undone": joined(r"\bTO", r"DO\b|\bFIX", r"ME\b|\bXX", "X"),
}
# Files of the project that may carry a word of the list, with the reason. None so far.
ALLOWED: dict[tuple[str, str], str] = {}


def tracked_files() -> list[pathlib.Path]:
    """Files that are, or would be, in the repository."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    try:
        asked = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        names = asked.stdout.splitlines()
    except (OSError, subprocess.CalledProcessError):  # no git here, or an unpacked archive without history
        hidden = {
            ".venv",
            ".git",
            ".mypy_cache",
            ".ruff_cache",
            ".pytest_cache",
            ".hypothesis",
            "__pycache__",
            "demo-out",
        }
        found = (path.relative_to(ROOT) for path in ROOT.rglob("*") if path.is_file())
        names = [path.as_posix() for path in found if not hidden & set(path.parts)]
    paths = [ROOT / name for name in sorted(names)]
    return [path for path in paths if path.is_file() and path.suffix.lower() not in NOT_TEXT]


def read(path: pathlib.Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return path.read_bytes().decode("cp1252", errors="replace")


def found_in(text: str, pattern: str) -> list[str]:
    return [match.group(0) for match in re.finditer(pattern, text, re.IGNORECASE if "TO" not in pattern else 0)]


@pytest.mark.parametrize("kind", PATTERNS)
def test_no_file_holds(kind):
    hits = {}
    for path in tracked_files():
        name = path.relative_to(ROOT).as_posix()
        if (name, kind) in ALLOWED or name == "LICENSE" or "fonts/" in name or name.endswith(".min.js"):
            continue
        lines = [
            f"{number}: {match}"
            for number, line in enumerate(read(path).splitlines(), 1)
            for match in found_in(line, PATTERNS[kind])
        ]
        if lines:
            hits[name] = lines[:5]
    assert hits == {}


def test_no_file_name_holds_such_a_word():
    names = [path.relative_to(ROOT).as_posix() for path in tracked_files()]
    assert [
        name for name in names if any(found_in(name, p) for k, p in PATTERNS.items() if k != "a path of one machine")
    ] == []


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("a registry's host", joined("https://files.python", "hosted", ".org/x")),
        ("a path of one machine", joined("open('/", "tmp/a')")),
        ("a path of one machine", joined("see /", "work/x")),
        ("talk of how it was made", joined("in this ses", "sion")),
        ("a sheet that stays outside", joined("from kee", "ping.md")),
        ("work left undone", joined("# TO", "DO later")),
    ],
)
def test_such_a_word_would_be_found(kind, text):
    assert found_in(text, PATTERNS[kind])


@pytest.mark.parametrize(
    "text", ["docs/scenario-file.md", "the works shutdown", "a temporary folder", "TODAY", "root of x/tmp"]
)
def test_plain_words_are_left_in_peace(text):
    assert [kind for kind, pattern in PATTERNS.items() if found_in(text, pattern)] == []
