"""What labels say: only what is true, in full, and in the unit's own symbols."""

from dataclasses import replace
from datetime import date

import pytest

from findhold.errors import BadInput, UnknownName
from findhold.label.layout import marks_of
from findhold.label.payload import restore, short_text, speaking_text
from findhold.label.wording import PARTS, LabelFacts, NumberSymbols, handling_lines, keep_words, label_texts
from findhold.record.identity import identity

JAR = LabelFacts(
    site_code="WCR26",
    site_name="Withy Carr",
    find_number="37",
    find_kind="registered",
    context="217",
    what="hand-made jar, crushed in its soil block",
    material="ceramic",
    state="damp",
    find_id=identity("WCR26", "F", 37),
    box_id=identity("WCR26", "B", 3),
    packed_on=date(2026, 7, 30),
    easting_m=451382.79,
    northing_m=206866.13,
    level_m=51.6,
    grid="EPSG:27700",
    vertical_datum="ODN",
    box_n=1,
    box_of=2,
    keep_until=date(2026, 8, 13),
    analyses=("lipid", "radiocarbon"),
    flags=("human remains",),
    person="M. Holt",
    mass_kg=6.482,
    place="Fridge 1, middle shelf",
)


def said(facts, part):
    return " | ".join(line.text for line in label_texts(facts, part))


def test_a_damp_find_is_kept_damp_cool_dark_and_unfrozen():
    assert keep_words(JAR) == ("KEEP DAMP", "COOL", "DARK", "DO NOT FREEZE")
    names = [name for name, _, _ in marks_of(JAR, "lid")]
    assert "temperature limits" in names
    assert "keep away from rain" not in names


def test_a_dry_metal_find_is_kept_dry_and_nothing_else_is_claimed():
    iron = replace(JAR, material="iron", state="dry", analyses=())
    assert keep_words(iron) == ("KEEP DRY",)
    assert "DAMP" not in said(iron, "lid")
    assert "COOL" not in said(iron, "lid")
    names = [name for name, _, _ in marks_of(iron, "lid")]
    assert "keep away from rain" in names
    assert "temperature limits" not in names


def test_what_the_hold_does_overrides_the_state_found():
    assert keep_words(replace(JAR, state="damp", kept="dry")) == ("KEEP DRY",)
    assert keep_words(replace(JAR, state="waterlogged"))[0] == "KEEP WET"


def test_a_find_kept_otherwise_than_found_says_both():
    pin = replace(JAR, material="copper alloy", kept="dry")
    assert "copper alloy, found damp" in said(pin, "lid")
    assert "KEEP DRY" in said(pin, "lid")
    assert "KEEP DAMP" not in said(pin, "lid")
    assert "DO NOT FREEZE" not in said(pin, "lid")
    assert "ceramic, damp" in said(replace(JAR, kept="damp"), "lid")


def test_a_find_kept_dry_is_not_told_not_to_dry():
    dated = replace(JAR, analyses=("luminescence",), state="dry")
    assert handling_lines(dated) == ("no washing",)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"packed_on": None, "person": ""}, "packed ____________ by ______"),
        ({"packed_on": None}, "packed ____________ by M. Holt"),
        ({"person": " "}, "packed 30 Jul 2026 by ______"),
    ],
)
def test_what_nobody_stated_of_the_packing_is_left_to_write_in(changes, words):
    assert words in said(replace(JAR, **changes), "lid")


def test_analyses_turn_into_what_they_forbid():
    assert handling_lines(JAR) == ("no bare hands", "no washing")
    assert handling_lines(replace(JAR, analyses=("luminescence",))) == ("no washing", "no drying")
    assert handling_lines(replace(JAR, analyses=("petrology",))) == ()
    assert handling_lines(replace(JAR, analyses=("14C", "ADNA"))) == ("no bare hands", "no washing")
    assert handling_lines(replace(JAR, analyses=("other",))) == ("no bare hands", "no washing", "no drying")
    assert handling_lines(replace(JAR, analyses=("tree ring dating",))) == ("no drying",)
    with pytest.raises(UnknownName, match="lipid"):
        label_texts(replace(JAR, analyses=("lipit",)), "lid")


def test_every_fact_stands_on_the_lid():
    text = said(JAR, "lid")
    for fact in (
        "[217]", "WCR26 Withy Carr", "WCR26-F37-5", "hand-made jar, crushed in its soil block", "ceramic, damp",
        "HUMAN REMAINS", "KEEP DAMP · COOL · DARK · DO NOT FREEZE", "Keep until 13 Aug 2026",
        "no bare hands · no washing", "for lipid, radiocarbon", "Box WCR26-B3-Q, 1 of 2",
        "packed 30 Jul 2026 by M. Holt", "mass 6.48 kg", "Fridge 1, middle shelf",
    ):  # fmt: skip
        assert fact in text
    assert "E 451382.790 N 206866.130 EPSG:27700, level 51.600 m ODN" in said(JAR, "inside")


def test_symbols_are_the_units_own():
    assert "(217)" in said(replace(JAR, symbols=NumberSymbols(context="round brackets")), "end")
    with pytest.raises(UnknownName, match="triangle"):
        NumberSymbols(registered="triangel")
    with pytest.raises(UnknownName, match="brackets"):
        NumberSymbols(context="diamond")


@pytest.mark.parametrize("part", PARTS)
def test_the_record_comes_back_from_the_speaking_text(part):
    back = restore(speaking_text(JAR))
    for name in (
        "site_code", "site_name", "find_number", "find_kind", "context", "what", "material", "state", "find_id",
        "box_id", "easting_m", "northing_m", "level_m", "grid", "vertical_datum",
    ):  # fmt: skip
        assert getattr(back, name) == getattr(JAR, name), name
    assert short_text(JAR, part) in (JAR.find_id, JAR.box_id)


@pytest.mark.parametrize(
    "changes",
    [
        {"what": "cup, base\nof; SITE X \"odd\"  ö漢"},
        {"easting_m": None, "northing_m": None, "grid": "", "level_m": None, "vertical_datum": ""},
        {"level_m": -3.25, "vertical_datum": ""},
        {"find_kind": "sample", "find_number": "12", "find_id": identity("WCR26", "S", 12)},
        {"find_kind": "bulk"},
        {"material": "bone, worked"},
        {"site_name": ""},
        {"what": ""},
    ],
)  # fmt: skip
def test_odd_facts_come_back_too(changes):
    facts = replace(JAR, **changes)
    back = restore(speaking_text(facts))
    assert back.what == " ".join(facts.what.split())
    assert (back.material, back.state) == (facts.material, facts.state)
    assert (back.easting_m, back.level_m, back.vertical_datum) == (facts.easting_m, facts.level_m, facts.vertical_datum)
    assert (back.find_kind, back.find_number, back.site_name) == (facts.find_kind, facts.find_number, facts.site_name)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("WCR26-F37-5", "WCR26-F37-6", "does not check"),
        ("FIND 37", "FIND 38", "not that of number 38"),
        ("SITE WCR26", "SITE WCR27", "not of its site"),
        ("CONTEXT 217\n", "", "no line CONTEXT"),
        ("CONTEXT 217\n", "CONTEXT 217\nCONTEXT 218\n", "stands twice"),
        ("CONTEXT 217", "CONTEXT 217\nhello", "begins with no word"),
        ("AT 451382.79 ", "AT a ", "not a measured position"),
        ("WCR26-B3-Q", "WCR26-F37-5", "not that of number"),
    ],
)
def test_a_spoilt_text_is_refused_with_what_to_do(old, new, says):
    with pytest.raises(BadInput, match=says) as caught:
        restore(speaking_text(JAR).replace(old, new))
    assert caught.value.do


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"box_n": 3}, "box 3 of 2"),
        ({"easting_m": None}, "only one of"),
        ({"grid": ""}, "no grid"),
        ({"context": " "}, "needs its context"),
        ({"state": "moist"}, "state"),
        ({"find_kind": "small"}, "kind of find"),
    ],
)
def test_impossible_facts_are_refused(changes, says):
    with pytest.raises(BadInput, match=says):
        replace(JAR, **changes)
