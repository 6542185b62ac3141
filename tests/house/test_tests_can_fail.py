"""A comparison whose result is thrown away checks nothing; the syntax trees of all tests are searched for one."""

import ast
import pathlib

import pytest

TESTS = pathlib.Path(__file__).resolve().parents[1]
FILES = sorted(TESTS.rglob("test_*.py"))
COMPARISONS = {"allclose", "isclose", "array_equal", "array_equiv", "is_valid", "validate", "all", "any", "approx"}
RAISING = (
    "assert_allclose",
    "assert_array_equal",
    "assert_array_less",
    "assert_array_almost_equal",
    "raises",
    "fail",
    "warns",
)


def thrown_away(text: str) -> list[int]:
    """Lines of statements that compare or ask something and drop the answer."""
    lines = []
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Expr):
            continue
        value = node.value
        negated = isinstance(value, ast.UnaryOp) and isinstance(value.op, ast.Not)
        if negated or isinstance(value, ast.Compare | ast.BoolOp):
            lines.append(node.lineno)
        elif isinstance(value, ast.Call):
            called = value.func.attr if isinstance(value.func, ast.Attribute) else getattr(value.func, "id", "")
            if called in COMPARISONS:
                lines.append(node.lineno)
    return lines


def asserts_nothing(text: str) -> list[str]:
    """Test functions in which nothing can fail: no assert, no call that asserts or expects an error."""
    tree = ast.parse(text)
    checking = {
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and any(isinstance(inner, ast.Assert) for inner in ast.walk(node))
    }
    empty = []
    for node in ast.walk(tree):
        if not (isinstance(node, ast.FunctionDef) and node.name.startswith("test")):
            continue
        calls = [call.func for call in ast.walk(node) if isinstance(call, ast.Call)]
        names = {call.attr if isinstance(call, ast.Attribute) else getattr(call, "id", "") for call in calls}
        raises = any(isinstance(inner, ast.Raise) for inner in ast.walk(node))
        if node.name not in checking and not names & (checking | set(RAISING)) and not raises:
            empty.append(node.name)
    return empty


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(TESTS).as_posix())
def test_no_comparison_is_thrown_away(path):
    assert thrown_away(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(TESTS).as_posix())
def test_every_test_can_fail(path):
    assert asserts_nothing(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(TESTS).as_posix())
def test_no_assert_is_true_by_construction(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    constant = [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Assert) and isinstance(node.test, ast.Constant | ast.Tuple)
    ]
    assert constant == []


@pytest.mark.parametrize(
    "text",
    ["np.allclose(a, b)", "a == b", "not a", "a and b", "math.isclose(1, 2)", "(a < b).all()", "pytest.approx(1)"],
)
def test_a_thrown_away_comparison_would_be_found(text):
    assert thrown_away(text) == [1]


@pytest.mark.parametrize(
    "text", ["assert np.allclose(a, b)", "ok = a == b", "np.testing.assert_allclose(a, b)", "f(a)"]
)
def test_a_kept_comparison_is_left_in_peace(text):
    assert thrown_away(text) == []


def test_an_empty_test_would_be_found():
    assert asserts_nothing("def test_a():\n    f()\n\ndef g():\n    assert 1 < x\n\ndef test_b():\n    g()\n") == [
        "test_a"
    ]
