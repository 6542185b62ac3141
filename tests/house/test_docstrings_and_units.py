"""Public functions say what they do, and every public figure carries its unit in its name."""

import ast
import pathlib
import re

import pytest

SRC = pathlib.Path(__file__).resolve().parents[2] / "src" / "findhold"
MODULES = sorted(SRC.rglob("*.py"))
IDS = [path.relative_to(SRC).as_posix() for path in MODULES]

UNITS = {
    *("kg", "g", "mg", "m", "mm", "cm", "km", "um", "nm", "m2", "m3", "mm2", "mm3", "cm2", "cm3", "l", "ml"),
    *(
        "c",
        "k",
        "kelvin",
        "pa",
        "kpa",
        "mpa",
        "hpa",
        "n",
        "j",
        "kj",
        "w",
        "mol",
        "mb",
        "px",
        "pt",
        "percent",
        "deg",
        "rad",
    ),
    *("s", "ms", "min", "h", "hour", "hours", "day", "days", "week", "weeks", "year", "years"),
}
# Closing words that make a figure dimensionless, or say that it is a place on an axis or a member of a band.
BARE_WORDS = {
    *(
        "rh",
        "fraction",
        "ratio",
        "index",
        "factor",
        "share",
        "count",
        "score",
        "weight",
        "quantile",
        "probability",
        "gsd",
    ),
    *("number", "activity", "saturation", "theta", "scale", "denominator", "low", "best", "high", "value", "seed"),
    *(
        "tolerance",
        "exponent",
        "porosity",
        "turns",
        "members",
        "x",
        "y",
        "z",
        "x0",
        "x1",
        "y0",
        "y1",
        "z0",
        "z1",
        "x2",
        "y2",
    ),
}
# Anything else has its unit in square brackets beside its name in a docstring: [W/(m K)], [fraction], [1].
# A ratchet, each with its reason.
NOT_FROZEN = {
    "Mistakes": "an exception, and Python writes its traceback into it",
    "Draft": "gathers the rows of a file while it is read; never leaves the register",
    "Reading": "gathers the cells of a column while it is read; never leaves the register",
}
LINES_OF_A_MODULE_DOCSTRING = 15
FIGURES = {"float", "Array", "Floats", "Numbers", "npt.ArrayLike", "NDArray[np.float64]", "npt.NDArray[np.float64]"}


def tree_of(path: pathlib.Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def public_functions(tree: ast.Module):
    """Module functions and methods of public classes whose names do not begin with an underscore."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and not node.name.startswith("_"):
            yield node.name, node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef | ast.AsyncFunctionDef) and not inner.name.startswith("_"):
                    yield f"{node.name}.{inner.name}", inner


def is_property(node: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """True for a method read like a field; its name says what it is."""
    return any(ast.unparse(mark) in ("property", "cached_property") for mark in node.decorator_list)


def carries_unit(name: str) -> bool:
    """True when the name ends in a unit (mass_kg, rate_kg_per_s_pa, low_kg) or is bare by nature (rh, growth_index)."""
    words = name.lower().strip("_").split("_")
    if words[-1] in BARE_WORDS or words[-1].removesuffix("s") in BARE_WORDS or words[0] == "rh":
        return True
    # "temp_c_by_hour", "outside_pa_low": the unit may stand before a closing word, never first.
    return any(word in UNITS for word in words[1:])


def unit_in_brackets(name: str, docstring: str | None) -> bool:
    """True when the docstring gives the name and, on its line or the next, a unit in square brackets."""
    return bool(re.search(rf"\b{re.escape(name)}\b[^\n]*(\n[^\n]*)?\[[^\]\n]+\]", docstring or ""))


def is_figure(annotation: ast.AST | None) -> bool:
    """True for float, float | None, and arrays of floats."""
    text = ast.unparse(annotation) if annotation is not None else ""
    return any(part.strip() in FIGURES for part in text.split("|"))


def text_below(fields: list[ast.stmt], place: int) -> str | None:
    """The string that stands under a field of a class and describes it."""
    after = fields[place + 1] if place + 1 < len(fields) else None
    below = isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant)
    return str(after.value.value) if below else None


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_every_module_says_what_it_is_for_in_few_lines(path):
    docstring = ast.get_docstring(tree_of(path)) or ""
    assert docstring
    assert len(docstring.splitlines()) <= LINES_OF_A_MODULE_DOCSTRING


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_every_public_function_and_class_has_a_docstring(path):
    tree = tree_of(path)
    bare = [name for name, node in public_functions(tree) if not ast.get_docstring(node) and not is_property(node)]
    bare += [
        node.name
        for node in tree.body
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_") and not ast.get_docstring(node)
    ]
    assert bare == []


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_docstrings_begin_with_a_sentence(path):
    odd = []
    for name, node in public_functions(tree_of(path)):
        first = (ast.get_docstring(node) or "x.").split("\n\n")[0].strip()
        if not first.endswith((".", ":", "?", "!", "**", ")")):
            odd.append((name, first))
    assert odd == []


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_figures_among_the_parameters_carry_their_unit(path):
    bare = []
    for name, node in public_functions(tree_of(path)):
        spec = (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)
        names = [a.arg for a in spec if is_figure(a.annotation) and not carries_unit(a.arg)]
        bare += [f"{name}({figure})" for figure in names if not unit_in_brackets(figure, ast.get_docstring(node))]
    assert bare == []


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_figures_in_records_carry_their_unit(path):
    bare = []
    for node in tree_of(path).body:
        if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
            continue
        for place, field in enumerate(node.body):
            if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name) and is_figure(field.annotation):
                name = field.target.id
                below = text_below(node.body, place)
                explained = unit_in_brackets(name, ast.get_docstring(node)) or re.search(r"\[[^\]]+\]", below or "")
                if not (carries_unit(name) or explained):
                    bare.append(f"{node.name}.{name}")
    assert bare == []


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_data_classes_are_frozen(path):
    loose = []
    for node in tree_of(path).body:
        if isinstance(node, ast.ClassDef) and node.name not in NOT_FROZEN and not node.name.startswith("_"):
            for mark in node.decorator_list:
                text = ast.unparse(mark)
                if text.startswith("dataclass") and "frozen=True" not in text:
                    loose.append(node.name)
    assert loose == []


@pytest.mark.parametrize(
    "name", ["mass_kg", "rate_kg_per_s_pa", "rh", "outside_rh", "low", "low_kg", "temp_c", "growth_index"]
)
def test_names_with_a_unit_pass(name):
    assert carries_unit(name)


@pytest.mark.parametrize("name", ["mass", "temperature", "thickness", "kg", "length"])
def test_names_without_a_unit_are_found(name):
    assert not carries_unit(name)


def test_a_unit_in_brackets_is_found():
    assert unit_in_brackets("film", "film : heat transfer at the wall,\n    inside [W/(m2 K)].")
    assert not unit_in_brackets("film", "film : heat transfer at the wall.")
