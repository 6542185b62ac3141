"""Every error of the family reads as a sentence a person can act on."""

import ast
import importlib
import pathlib
import pkgutil
import re

import pytest

import findhold
from findhold.app.build import NotHereError, NotServedError
from findhold.app.guard import BrokenError, TooLargeError
from findhold.errors import BadInput, FindholdError, LedgerTrouble, Mistake, Mistakes, Question, UnknownName
from findhold.label.release import UnreadableLabelError
from findhold.service.once import KeyUsedError
from findhold.service.signing import RefusedError, SignInNeededError, TooOftenError

SRC = pathlib.Path(__file__).resolve().parents[2] / "src" / "findhold"
MODULES = sorted(SRC.rglob("*.py"))

ROW = Mistake(
    file="r.csv", row=7, column="Wt (g)", value="-3", wrong="a mass cannot be negative", allowed="more than 0 g"
)
ASK = Question(
    about="Found", text="Is 03/04/2026 the 3rd of April or the 4th of March?", choices=("3 April", "4 March")
)
EXAMPLES = {
    FindholdError: [FindholdError("the answer is missing", do="Ask the finds officer")],
    BadInput: [
        BadInput(
            "the relative humidity is 55", where="scenario.toml, surroundings.rh", limit="0 to 1", do="Write 0.55"
        ),
        BadInput("the lid is off", do="Close it."),
    ],
    UnknownName: [
        UnknownName("material", "leathr", ["leather", "wood"], where="row 4, Mat."),
        UnknownName("material", "qqq", ["leather", "wood"]),
        UnknownName("find", "37", []),
    ],
    LedgerTrouble: [LedgerTrouble("the file is not a ledger", where="wcr26.ledger", do="Restore the last copy")],
    UnreadableLabelError: [
        UnreadableLabelError("the short code reads as nothing", where="F37 lid", do="Take larger stock")
    ],
    NotHereError: [NotHereError("/nowhere")],
    NotServedError: [NotServedError("PUT", "/finds")],
    BrokenError: [BrokenError()],
    TooLargeError: [TooLargeError("this is too large", limit="1 MB", do="Send less at a time")],
    KeyUsedError: [KeyUsedError("this key was used before", limit="one key for one request", do="Make a new key")],
    RefusedError: [RefusedError("the passphrase is not right", where="Marian Holt", do="Type it again")],
    SignInNeededError: [SignInNeededError("nobody has signed in", do="Choose who you are")],
    TooOftenError: [TooOftenError("too many wrong tries", limit="try again in 30 s", do="Wait, then type it again")],
    Mistakes: [Mistakes([ROW], [ASK]), Mistakes([ROW]), Mistakes([], [ASK])],
}
FLAWS = {
    "a leftover % mark": re.compile(r"%[sdrif]\b|%\("),
    "a leftover brace": re.compile(r"[{}]"),
    "a double space": re.compile(r"  "),
    "a space before a stop": re.compile(r" [.,;:!?](\s|$)"),
    "words glued at a stop": re.compile(r"[a-z]{2}[.,;!?][A-Z][a-z]"),
    "two stops": re.compile(r"[.,;!?]\.(\s|$)|\.\.(\s|$)"),
    "None or a class name": re.compile(r"\bNone\b|<[a-z_.]+ object|dataclass"),
}


def flaws(text: str) -> list[str]:
    return [name for name, pattern in FLAWS.items() if pattern.search(text)]


def family() -> set[type[FindholdError]]:
    for module in pkgutil.walk_packages(findhold.__path__, "findhold."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    found, waiting = set(), [FindholdError]
    while waiting:
        member = waiting.pop()
        found.add(member)
        waiting.extend(member.__subclasses__())
    return {member for member in found if member.__module__.startswith("findhold.")}


def test_every_error_of_the_family_has_an_example_here():
    assert {member.__name__ for member in family()} - {member.__name__ for member in EXAMPLES} == set()


@pytest.mark.parametrize(
    "error", [e for examples in EXAMPLES.values() for e in examples], ids=lambda e: type(e).__name__
)
def test_the_example_reads_as_a_sentence(error):
    sentence = error.sentence()
    assert flaws(sentence) == []
    assert str(error) == sentence
    assert sentence[-1] in ".?!"
    assert error.do
    assert error.do.rstrip(".?!") in sentence


@pytest.mark.parametrize(
    "error", [e for examples in EXAMPLES.values() for e in examples], ids=lambda e: type(e).__name__
)
def test_the_example_has_one_shape_as_data(error):
    shape = error.as_dict()
    assert {"code", "wrong", "where", "limit", "do", "sentence"} <= set(shape)
    assert shape["sentence"] == error.sentence()
    assert shape["code"] == type(error).code


def test_a_mistake_says_where_what_and_what_is_allowed():
    line = ROW.line()
    assert flaws(line) == []
    for part in ("row 7", "Wt (g)", "-3", "negative", "more than 0 g"):
        assert part in line


# --- the errors as they stand in the code ------------------------------------------------------------------------

NAMES = {member.__name__ for member in EXAMPLES}


def raised(path: pathlib.Path):
    """Calls in one file that build an error of the family."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if called in NAMES:
                yield called, node


def wording(node: ast.AST) -> str | None:
    """The text of a string or an f-string; what is filled in becomes X."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(part.value if isinstance(part, ast.Constant) else "X" for part in node.values)
    return None


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(SRC).as_posix())
def test_errors_in_the_code_are_worded_without_flaws(path):
    found = []
    for called, node in raised(path):
        for argument in (*node.args, *(keyword.value for keyword in node.keywords)):
            text = wording(argument)
            if text is not None and (kinds := flaws(text.replace("''", ""))):
                found.append((node.lineno, called, kinds, text))
    assert found == []


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(SRC).as_posix())
def test_errors_in_the_code_say_what_to_do(path):
    silent = []
    for called, node in raised(path):
        if called in ("UnknownName", "Mistakes", "NotHereError", "NotServedError", "BrokenError"):
            continue  # these word their own next step
        keywords = {keyword.arg: keyword.value for keyword in node.keywords}
        if "do" not in keywords and None not in keywords:
            silent.append((node.lineno, "no do="))
        elif "do" in keywords and wording(keywords["do"]) == "":
            silent.append((node.lineno, "do is empty"))
    assert silent == []


def only_tells_the_type(test: ast.expr) -> bool:
    """True for `x is not None` and isinstance: said to the type checker, true whatever a user does."""
    if isinstance(test, ast.Compare):
        return isinstance(test.ops[0], ast.IsNot) and ast.unparse(test.comparators[0]) == "None"
    return isinstance(test, ast.Call) and ast.unparse(test.func) == "isinstance"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(SRC).as_posix())
def test_no_assert_stands_in_for_an_error(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    asserts = [node for node in ast.walk(tree) if isinstance(node, ast.Assert)]
    assert [node.lineno for node in asserts if not only_tells_the_type(node.test)] == []


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(SRC).as_posix())
def test_nobody_is_sent_to_the_documentation(path):
    texts = [wording(a) or "" for _, node in raised(path) for a in (*node.args, *(k.value for k in node.keywords))]
    assert [
        text for text in texts if re.search(r"see the (docs|documentation|manual)|please", text, re.IGNORECASE)
    ] == []


@pytest.mark.parametrize(
    ("text", "flaw"),
    [
        ("mass %s kg", "a leftover % mark"),
        ("box {name}", "a leftover brace"),
        ("too  wide", "a double space"),
        ("too wide .", "a space before a stop"),
        ("too wide.Take another", "words glued at a stop"),
        ("too wide..", "two stops"),
        ("find None", "None or a class name"),
    ],
)
def test_a_flaw_would_be_found(text, flaw):
    assert flaw in flaws(text)
