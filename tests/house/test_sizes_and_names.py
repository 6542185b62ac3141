"""The house keeps its rooms small: sizes, names, no circles."""

import ast
import pathlib

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]
SRC = ROOT / "src" / "findhold"
MODULES = sorted(SRC.rglob("*.py"))
OURS = [*MODULES, *sorted((ROOT / "tools").glob("*.py")), *sorted((ROOT / "builders").glob("*.py"))]

MODULE_WALL = 500
FUNCTION_WALL = 40
PARAMETER_WALL = 6

# A ratchet: a function longer than the wall stands here with its reason, and leaves when it has become shorter.
LONG_FUNCTIONS: dict[str, str] = {
    "src/findhold/service/papers.py:_sheet": "one line for each fact that the printed page holds",
}
# The same for parameters. The commands of the cli are left out: there every option is a parameter by design.
MANY_PARAMETERS: dict[str, str] = {}
# Packages of more than a dozen modules, with the reason.
LARGE_PACKAGES = {
    "src/findhold/cli": "a file for each group of commands, and what they share",
    "src/findhold/pack": "one plan in small files: asked, block, dose, need, choice, proof, bed, fill, steps, words",
    "src/findhold/tables": "a file for each group of tables",
    "src/findhold/keep": "one forecast in small files: place, ways out, inside, response, surfaces, limits, words",
    "src/findhold/paper": "a file for each sheet and each drawing, and the parts that the drawings share",
    "src/findhold/register": "intake of files, and the plot, which moves out when either grows",
    "src/findhold/api": "a file for each group of operations, and what they share",
    "src/findhold/web": "a file for each page, found by itself, and what pages share",
    "src/findhold/service/rounds": "from one hold's window to the mail that tells of it, a step a file",
    "src/findhold/service": "a file for each use case; it grows with what the program can do, not with how",
}

FORBIDDEN_MODULE_NAMES = {
    "utils",
    "util",
    "hel" + "pers",
    "hel" + "per",
    "misc",
    "common",
    "manager",
    "managers",
    "stuff",
    "base",
}


def name_of(path: pathlib.Path) -> str:
    return path.relative_to(ROOT).as_posix()


def functions(path: pathlib.Path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    stack = [(tree, "")]
    while stack:
        node, prefix = stack.pop()
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef):
                yield f"{name_of(path)}:{prefix}{child.name}", child
                stack.append((child, f"{prefix}{child.name}."))
            elif isinstance(child, ast.ClassDef):
                stack.append((child, f"{prefix}{child.name}."))
            else:
                stack.append((child, prefix))


def lines_without_docstring(function: ast.FunctionDef, *, options: bool = False) -> int:
    """Length of a function; `options` leaves out the signature of a command, where every option is a parameter."""
    first = function.body[0]
    length = function.end_lineno - (first.lineno if options else function.lineno) + 1
    if ast.get_docstring(function, clean=False) is not None:
        length -= first.end_lineno - first.lineno + 1
    return length


def test_no_module_is_longer_than_the_wall():
    long = {name_of(path): len(path.read_text(encoding="utf-8").splitlines()) for path in OURS}
    assert {name: lines for name, lines in long.items() if lines > MODULE_WALL} == {}


def test_long_functions_are_listed_with_a_reason_and_no_others_are():
    long = {
        name: size
        for path in OURS
        for name, node in functions(path)
        if (size := lines_without_docstring(node, options=path.is_relative_to(SRC / "cli"))) > 40
    }
    unlisted = {name: size for name, size in long.items() if name not in LONG_FUNCTIONS}
    assert unlisted == {}
    assert [name for name in LONG_FUNCTIONS if name not in long] == [], "these became shorter: take them off the list"
    assert all(LONG_FUNCTIONS.values())


def test_functions_with_many_parameters_are_listed_with_a_reason_and_no_others_are():
    many = {}
    for path in OURS:
        if path.is_relative_to(SRC / "cli"):
            continue
        for name, node in functions(path):
            spec = node.args
            names = [a.arg for a in (*spec.posonlyargs, *spec.args, *spec.kwonlyargs) if a.arg not in ("self", "cls")]
            if len(names) > PARAMETER_WALL:
                many[name] = len(names)
    assert {name: count for name, count in many.items() if name not in MANY_PARAMETERS} == {}
    assert [name for name in MANY_PARAMETERS if name not in many] == [], "these need no excuse any more"


def test_no_module_has_a_name_that_says_nothing():
    assert [name_of(path) for path in OURS if path.stem in FORBIDDEN_MODULE_NAMES] == []
    assert [name_of(path) for path in SRC.rglob("*") if path.is_dir() and path.name in FORBIDDEN_MODULE_NAMES] == []


def test_a_package_holds_at_most_a_dozen_modules():
    counts: dict[str, int] = {}
    for path in MODULES:
        if path.name != "__init__.py":
            counts[name_of(path.parent)] = counts.get(name_of(path.parent), 0) + 1
    large = {name: count for name, count in counts.items() if count > 12}
    assert {name: count for name, count in large.items() if name not in LARGE_PACKAGES} == {}
    assert [name for name in LARGE_PACKAGES if name not in large] == [], "these became smaller: take them off the list"


def test_test_files_have_unique_names():
    names = [path.name for path in (ROOT / "tests").rglob("test_*.py")]
    assert sorted(name for name in set(names) if names.count(name) > 1) == []


# --- circles ---------------------------------------------------------------------------------------------------


def module_name(path: pathlib.Path) -> str:
    parts = path.relative_to(SRC.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def import_graph(sources: dict[str, str]) -> dict[str, set[str]]:
    graph: dict[str, set[str]] = {name: set() for name in sources}
    for name, text in sources.items():
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.Import):
                wanted = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
                inner = [f"{node.module}.{alias.name}" for alias in node.names]
                wanted = [dotted if dotted in sources else node.module for dotted in inner]
            else:
                continue
            graph[name].update(dotted for dotted in wanted if dotted in sources and dotted != name)
    return graph


def first_circle(graph: dict[str, set[str]]) -> list[str]:
    done: set[str] = set()

    def walk(name: str, trail: list[str]) -> list[str]:
        if name in trail:
            return [*trail[trail.index(name) :], name]
        if name in done:
            return []
        for other in sorted(graph[name]):
            if circle := walk(other, [*trail, name]):
                return circle
        done.add(name)
        return []

    return next((circle for name in sorted(graph) if (circle := walk(name, []))), [])


def test_no_modules_import_each_other_in_a_circle():
    sources = {module_name(path): path.read_text(encoding="utf-8") for path in MODULES}
    assert first_circle(import_graph(sources)) == []


def test_a_circle_would_be_found():
    graph = import_graph({"a": "import b", "b": "def f():\n    from c import d", "c": "import a"})
    assert first_circle(graph) == ["a", "b", "c", "a"]


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_every_import_inside_the_house_is_spelt_in_full(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert [n.lineno for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) and n.level > 0] == []
