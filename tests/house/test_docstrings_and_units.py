"""Public functions say what they do, and every public figure carries its unit in its name."""

import ast
import pathlib

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
    *("number", "activity", "saturation", "theta", "scale", "low", "best", "high", "value", "x", "y", "z", "seed"),
    *("tolerance", "exponent", "porosity", "turns", "members"),
}
# Symbols of a published equation, dimensionless or with the unit in the docstring's bracket; each with its reason.
DIMENSIONLESS = {
    "n": "shape parameter of a retention curve",
    "a": "coefficient of a published equation",
    "b": "coefficient of a published equation",
    "c": "coefficient of a published equation",
    "q10": "rate ratio for ten kelvin",
    "bi": "Biot number",
    "fo": "Fourier number",
    "k1": "rate coefficient of the growth law",
    "k2": "slowing factor of the growth law",
}
LINES_OF_A_MODULE_DOCSTRING = 15


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


def carries_unit(name: str) -> bool:
    """True when the name ends in a unit (mass_kg, rate_kg_per_s_pa, low_kg) or is bare by nature (rh, growth_index)."""
    if name in DIMENSIONLESS:
        return True
    words = name.lower().strip("_").split("_")
    if words[-1] in BARE_WORDS or words[-1] in {word + "s" for word in BARE_WORDS}:
        return True
    if words[-1] in UNITS and len(words) > 1:
        return True
    # "temp_c_by_hour", "outside_pa_low": the unit stands before a closing word.
    return any(words[i] in UNITS for i in range(1, len(words) - 1)) or words[0] in BARE_WORDS


def is_figure(annotation: ast.AST | None) -> bool:
    """True for float, float | None, and arrays of floats."""
    text = ast.unparse(annotation) if annotation is not None else ""
    return text in ("float", "float | None", "Floats", "FloatArray", "Array", "NDArray[np.float64]", "np.ndarray")


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_every_module_says_what_it_is_for_in_few_lines(path):
    docstring = ast.get_docstring(tree_of(path)) or ""
    assert docstring
    assert len(docstring.splitlines()) <= LINES_OF_A_MODULE_DOCSTRING


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_every_public_function_and_class_has_a_docstring(path):
    tree = tree_of(path)
    bare = [name for name, node in public_functions(tree) if not ast.get_docstring(node)]
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
        bare += [f"{name}({a.arg})" for a in spec if is_figure(a.annotation) and not carries_unit(a.arg)]
    assert bare == []


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_figures_in_records_carry_their_unit(path):
    bare = []
    for node in tree_of(path).body:
        if isinstance(node, ast.ClassDef):
            fields = [f for f in node.body if isinstance(f, ast.AnnAssign) and isinstance(f.target, ast.Name)]
            names = [field.target.id for field in fields if is_figure(field.annotation)]
            bare += [f"{node.name}.{name}" for name in names if not carries_unit(name)]
    assert bare == []


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_data_classes_are_frozen(path):
    loose = []
    for node in tree_of(path).body:
        if isinstance(node, ast.ClassDef) and node.name != "Mistakes":  # an exception cannot be frozen
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
