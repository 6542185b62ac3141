"""shopping: amounts against stock, what is short, what may stand in, bad lists."""

import csv
from pathlib import Path

import pytest

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"

STOCK = "item,count,unit,pack\n"


@pytest.fixture
def stock(tmp_path):
    """Write a list of consumables and give its path."""

    def write(*rows):
        file = tmp_path / "stock.csv"
        file.write_text(STOCK + "\n".join(rows) + "\n", encoding="utf-8")
        return file

    return write


def lines(run):
    return {line["item"]: line for line in run.json["lines"]}


FULL = (
    "tissue,500,sheet,480",
    "aluminium foil,20,m2,",
    "polyethylene film,20,m2,",
    "sealed polyethylene bag,100,bag,",
    "perforated polyethylene bag,100,bags,",
    "polyethylene foam plank 25 mm,5,plank,",
    "silica gel,5000,g,",
    "humidity card,20,,",
    "deionised water,20,L,",
    "gloves,100,pairs,",
    "labels A4 2 x 4,50,,",
)


def test_a_week_with_everything_there_is_answered_yes(withy_carr, findhold, stock):
    done = findhold("shopping", "44", "52", "--stock", stock(*FULL), "--json")
    assert done.code == 0, done.text
    assert done.json["short"] is False
    assert all(line["short"] == 0 for line in done.json["lines"])


def test_needs_are_those_of_the_plans(withy_carr, findhold, stock):
    """Sheets and water summed over two plans made beside the list; nothing is recorded by it."""
    plans = findhold("plan", "44", "52", "--dry-run", "--json").json["finds"]
    done = findhold("shopping", "44", "52", "--stock", stock(*FULL), "--json")
    found = lines(done)
    assert found["tissue"]["needed"] == sum(plan["sheets"] for plan in plans)
    assert found["deionised water"]["needed"] == pytest.approx(sum(plan["dose_g"] for plan in plans) / 1000)
    for plan in plans:
        assert plan["find"] in found[plan["box"]]["finds"]
    assert found["gloves"]["needed"] >= 2
    assert (
        findhold("list", "holds", "--json").json["rows"] == [] or "rows" not in findhold("list", "holds", "--json").json
    )


def test_what_is_short_is_told_in_packs_and_exits_with_one(withy_carr, findhold, stock, tmp_path):
    done = findhold("shopping", "44", "52", "--stock", stock("tissue,1,sheet,5"), "--out", tmp_path)
    assert done.code == 1
    assert "Something is short" in done.text
    file = next(tmp_path.glob("*shopping.csv"))
    rows = {row["item"]: row for row in csv.DictReader(file.read_text(encoding="utf-8-sig").splitlines())}
    tissue = rows["tissue"]
    short = float(tissue["needed"]) - 1
    assert float(tissue["short"]) == short
    assert int(tissue["packs"]) == -(-int(short) // 5)
    assert rows["gloves"]["in_stock"] == ""


def test_a_substitute_is_refused_for_the_find_its_analysis_forbids(withy_carr, findhold, stock):
    """Find 37 is in foil for its dating: cellophane is paper by its contact rule, film is not (contact_rules)."""
    assert findhold("plan", "37", "--barrier", "aluminium foil").code == 0
    done = findhold("shopping", "37", "--stock", stock("cellophane,50,,", "polyester film,50,,"), "--json")
    assert done.code == 1, done.text
    told = {other["item"]: other for other in lines(done)["aluminium foil"]["substitutes"]}
    assert set(told) == {"cellophane", "polyester film"}
    cellophane = told["cellophane"]
    assert cellophane["allowed_for"] == []
    assert cellophane["forbidden_for"][0]["find"] == "37"
    assert "radiocarbon" in cellophane["forbidden_for"][0]["why"]
    shown = findhold("shopping", "37", "--stock", stock("cellophane,50,,"))
    assert "not for find 37" in shown.text


def test_boxes_short_name_the_other_kinds_that_would_do(findhold, tmp_path, monkeypatch, stock):
    """The demo's register with one flat box for two finds that want it."""
    ledger = tmp_path / "few.ledger"
    monkeypatch.setenv("FINDHOLD_LEDGER", str(ledger))
    assert findhold("new", ledger, "--site", "WCR26", "--name", "Withy Carr").code == 0
    rows = (DEMO / "boxes.csv").read_text(encoding="utf-8").splitlines()
    flat = next(row for row in rows if row.startswith("D flat"))
    few = tmp_path / "few.csv"
    few.write_text("\n".join(rows).replace(flat, flat.rsplit(",", 1)[0] + ",1"), encoding="utf-8")
    for name in ("people.csv", "contexts.csv", "stores.csv", "closures.csv", "finds_register.xlsx"):
        assert findhold("import", few if name == "boxes.csv" else DEMO / name).code == 0
    assert findhold("import", few, "--kind", "box").code == 0
    done = findhold("shopping", "41", "B216", "--stock", stock(*FULL), "--json")
    assert done.code == 1
    line = lines(done)["D flat"]
    assert (line["needed"], line["in_stock"], line["short"]) == (2, 1, 1)
    others = {other["item"]: other for other in line["substitutes"]}
    assert others["G half crate"]["allowed_for"] == ["41", "B216"]


def test_a_week_is_asked_for_by_its_iso_name(withy_carr, findhold):
    wrong = findhold("shopping", "--all", "--week", "31")
    assert wrong.code == 2
    assert "2026-W31" in wrong.text
    empty = findhold("shopping", "--all", "--week", "2031-W02")
    assert empty.code == 2
    assert "no find is to be packed in 2031-W02" in empty.text


def test_when_every_lid_is_closed_there_is_nothing_to_buy_and_that_is_no_mistake(findhold, tmp_path, monkeypatch):
    ledger = tmp_path / "one.ledger"
    monkeypatch.setenv("FINDHOLD_LEDGER", str(ledger))
    assert findhold("new", ledger, "--site", "WCR26", "--name", "Withy Carr").code == 0
    for name in ("people.csv", "contexts.csv", "stores.csv", "boxes.csv"):
        assert findhold("import", DEMO / name).code == 0
    register = tmp_path / "register.csv"
    head = "Find no,Kind,Context,What,Material,State,Mass (g),E,N,Length (mm),Width (mm),Height (mm),Store"
    row = "61,registered,216,whorl,high-fired ceramic,dry,50,451382.1,206866.2,40,40,20,Cool room"
    register.write_text(f"{head}\n{row}\n", encoding="utf-8")
    assert findhold("import", register, "--answer", "missing level=leave empty").code == 0
    assert "61" in findhold("shopping", "--all", "--json").json["finds"]
    assert findhold("plan", "61", "--packed-at", "2026-07-29T16:30+01:00").code == 0
    done = findhold("shopping", "--all")
    assert done.code == 0, done.text
    assert "The lid of every find is closed already" in done.text
    assert "Nothing to buy." in done.text


def test_a_week_alone_means_the_finds_to_be_packed_in_it(withy_carr, findhold):
    """The demo's finds were lifted in the week of 27 July 2026."""
    alone = findhold("shopping", "--week", "2026-W31", "--json")
    every = findhold("shopping", "--all", "--week", "2026-W31", "--json")
    assert alone.json["finds"] == every.json["finds"] != []
    assert alone.code == every.code


def test_consumables_of_the_settings_and_of_the_ledger_are_counted(withy_carr, findhold, tmp_path, stock, monkeypatch):
    monkeypatch.setenv("FINDHOLD_HOME", str(tmp_path))
    (tmp_path / "settings.toml").write_text(
        '[stock]\ntissue = 500\n"deionised water" = { count = 7, place = "cupboard 2" }\n', encoding="utf-8"
    )
    list_of_materials = tmp_path / "materials.csv"
    rows = "name,kind,count,place\nGlovers best,gloves,40,drawer\nWrap 18,tissue,3,\nOdd thing,,9,\n"
    list_of_materials.write_text(rows.replace("gloves,", "perforated polyethylene bag,"), encoding="utf-8")
    assert findhold("import", list_of_materials, "--kind", "material").code == 0
    found = lines(findhold("shopping", "44", "52", "--json"))
    assert found["tissue"]["in_stock"] == 500  # the settings go before the ledger's three sheets
    assert (found["deionised water"]["in_stock"], found["deionised water"]["place"]) == (7, "cupboard 2")
    bags = lines(findhold("shopping", "44", "52", "--stock", stock("tissue,1,,"), "--json"))
    assert bags["tissue"]["in_stock"] == 1  # and the list goes before the settings
    told = findhold("shopping", "44", "52").text
    assert "Odd thing" in told
    assert "cupboard 2" in told


def test_a_wrong_line_of_the_settings_is_named(withy_carr, findhold, tmp_path, monkeypatch):
    monkeypatch.setenv("FINDHOLD_HOME", str(tmp_path))
    (tmp_path / "settings.toml").write_text("[stock]\ntissu = 500\ngloves = { cnt = 2 }\n", encoding="utf-8")
    refused = findhold("shopping", "44")
    assert refused.code == 2
    assert "settings.toml [stock]" in refused.text
    assert "tissu" in refused.text
    assert "cnt" in refused.text


def test_a_find_without_a_box_takes_tissue_and_foam_all_the_same(withy_carr, findhold):
    """A block larger than every box of the demo: what it takes is counted in the box to make for it."""
    assert findhold("measure", "52", "--size", "700x600x400", "--mass", "30").code == 0
    done = findhold("shopping", "52", "--json")
    found = lines(done)
    assert "box to make for find 52" in found
    assert found["polyethylene foam plank 25 mm"]["needed"] >= 1
    assert found["tissue"]["needed"] > 0


def test_where_the_boxes_stand_is_told(withy_carr, findhold, tmp_path):
    untold = findhold("shopping", "44")
    assert "is not in the box list: add a column place" in " ".join(untold.text.split())
    rows = (DEMO / "boxes.csv").read_text(encoding="utf-8-sig").splitlines()
    placed = tmp_path / "placed.csv"
    placed.write_text("\n".join([rows[0] + ",Where", *(row + ",rack 3" for row in rows[1:])]), encoding="utf-8")
    again = findhold("import", placed, "--kind", "box", "--correct", "--reason", "rack numbered")
    assert again.code == 0, again.text
    box = next(line for line in findhold("shopping", "44", "--json").json["lines"] if line["kind"] == "box")
    assert box["place"] == "rack 3"
    assert "rack 3" in findhold("shopping", "44").text


def test_finds_or_all_and_not_both(withy_carr, findhold):
    assert findhold("shopping").code == 2
    assert findhold("shopping", "37", "--all").code == 2


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (("tissue,-1,,",), "cannot be"),
        (("tissue,many,,",), "cannot be"),
        (("tissue,,,",), "is missing"),
        (("tissue,5,litre,",), "another unit"),
        (("tissue,5,,0",), "cannot be"),
        (("tissu,5,,",), "tissue"),
        (("tissue,5,,", "acid-free tissue,6,,"), "twice"),
    ],
)
def test_a_list_that_cannot_be_is_refused_row_by_row(withy_carr, findhold, stock, rows, said):
    done = findhold("shopping", "37", "--stock", stock(*rows))
    assert done.code == 2, done.text
    assert said in done.text


def test_a_list_without_its_headings_is_refused(withy_carr, findhold, tmp_path):
    file = tmp_path / "x.csv"
    file.write_text("thing;many\ntissue;5\n", encoding="utf-8")
    done = findhold("shopping", "37", "--stock", file)
    assert done.code == 2
    assert "item, count, unit, pack" in done.text
