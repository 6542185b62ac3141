"""The page of kinds and fields says what the import's own table says."""

import importlib.util
import pathlib

from findhold.register.kinds import KINDS

ROOT = pathlib.Path(__file__).resolve().parents[2]


def builder():
    path = ROOT / "builders" / "build_register_page.py"
    spec = importlib.util.spec_from_file_location("build_register_page", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_what_the_builder_writes():
    page = (ROOT / "docs" / "register.md").read_text(encoding="utf-8")
    assert page == builder().page(), "run builders/build_register_page.py and look at the difference"


def test_every_kind_and_field_has_its_line():
    page = (ROOT / "docs" / "register.md").read_text(encoding="utf-8")
    sections = {
        part.split("`")[1].removeprefix("--kind "): part for part in page.split("\n## ") if "`--kind " in part[:60]
    }
    assert set(KINDS) <= set(sections)
    missing = [
        f"{kind.name}.{name}"
        for kind in KINDS.values()
        for name in kind.fields
        if f"`{name}`" not in sections[kind.name]
    ]
    assert missing == []


def test_the_readme_leads_to_the_page():
    assert "(docs/register.md)" in (ROOT / "README.md").read_text(encoding="utf-8")


def test_examples_of_headings_begin_with_the_first_and_are_each_once():
    spread = builder().spread
    assert spread(["Context", "context", "ctx"], 5) == ["Context", "ctx"]
    assert spread([str(n) for n in range(100)], 3) == ["0", "1", "99"]
