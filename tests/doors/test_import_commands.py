"""Import through the command line: questions answered from their own text, nothing lost, nothing misread in silence."""

import os
import pty
import re
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

from findhold.cli import asking
from findhold.errors import Question

CONTEXTS = "Context,Type\n1,cut\n2,fill\n"


@pytest.fixture
def ledger(findhold, tmp_path, monkeypatch):
    """A new ledger with two contexts."""
    path = tmp_path / "wcr26.ledger"
    monkeypatch.setenv("FINDHOLD_LEDGER", str(path))
    assert findhold("new", path, "--site", "WCR26", "--name", "Withy Carr").code == 0
    (tmp_path / "contexts.csv").write_text(CONTEXTS, encoding="utf-8")
    assert findhold("import", "contexts.csv").code == 0
    return path


@pytest.fixture
def written(tmp_path):
    """written("finds.csv", "SF,Ctx", "1,2") -> the name of a file with these lines."""

    def write(name, *lines):
        (tmp_path / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
        return name

    return write


def options_in(text):
    """Every --answer option printed, as the arguments a shell makes of it."""
    return [part for found in re.findall(r'--answer "([^"]*)"', text) for part in ("--answer", found)]


def facts(findhold, number):
    return findhold("show", number, "--json").json["facts"]


def events(findhold, ledger):
    return findhold("prove", ledger, "--json").json["events"]


# --- questions answered from their own text ------------------------------------------------------------------------


def test_the_option_under_a_question_answers_it(findhold, ledger, written):
    file = written("stores.csv", "Name of the thing;Kind;Temp °C", "Fridge 1;fridge;4")
    asked = findhold("import", file, "--kind", "store")
    assert asked.code == 2
    assert options_in(asked.err) == ["--answer", "field name=Name of the thing"]
    assert "Answer the question" in asked.err
    done = findhold("import", file, "--kind", "store", *options_in(asked.err))
    assert done.code == 0, done.text
    assert findhold("list", "stores", "--json").json["rows"][0]["name"] == "Fridge 1"


def test_each_choice_has_its_line_when_they_are_few_and_one_line_stands_for_many():
    few = Question(about="State: wet", text="?", choices=("damp", "waterlogged"))
    assert asking.option_lines(few) == ['--answer "State: wet=damp"', '--answer "State: wet=waterlogged"']
    many = Question(about="Material: x", text="?", choices=tuple("abcdefgh"))
    assert asking.option_lines(many) == ['--answer "Material: x=CHOICE"']
    free = Question(about="Exposed: zone", text="?")
    assert asking.option_lines(free) == ['--answer "Exposed: zone=CHOICE"']


def test_the_option_survives_the_shell_whatever_the_heading():
    for about in ('column 6" pipes', "column cost $", "column it's", "column a`b"):
        line = asking.answer_option(about, "not used")
        got = subprocess.run(["sh", "-c", f'printf "%s\\n" {line}'], capture_output=True, text=True, check=True)
        assert got.stdout.splitlines() == ["--answer", f"{about}=not used"]
    assert "--write-map" in asking.option_lines(Question(about="column a=b", text="?", choices=("x",)))[0]


def test_an_answer_about_no_column_or_no_field_is_refused_with_near_names(findhold, ledger, written):
    file = written("finds.csv", "SF,Ctx,Thing,Drawer", "1,2,jar,A")
    wrong = findhold("import", file, "--answer", "column Drawr=note")
    assert wrong.code == 2
    assert "Did you mean Drawer" in wrong.err
    assert "Did you mean note" in findhold("import", file, "--answer", "column Drawer=not").err
    told = findhold("import", file, "--answer", "Mass: unit=g")
    assert told.code == 0
    assert "the answer about 'Mass: unit' answers no question" in told.text


def test_on_a_terminal_every_question_is_asked_and_the_answers_are_kept(findhold, ledger, written, monkeypatch):
    file = written("finds.csv", "SF,Ctx,State,Type", "1,1,wet,bulk", "2,2,wet,registered")
    asked = []

    def answer(question):
        asked.append(question.about)
        return question.choices[0]

    monkeypatch.setattr(asking, "on_terminal", lambda: True)
    monkeypatch.setattr(asking, "ask_one", answer)
    done = findhold("import", file, "--yes")
    assert done.code == 0, done.text
    assert asked == ["column Type", "State: wet"]
    assert [facts(findhold, n)["kind"] for n in "12"] == ["bulk", "registered"]
    asked.clear()
    again = findhold("import", written("more.csv", "SF,Ctx,State,Type", "3,2,wet,bulk"), "--yes")
    assert again.code == 0, again.text
    assert asked == []
    assert facts(findhold, "3")["state"] == facts(findhold, "1")["state"]


def test_whoever_gives_up_is_told_the_answers_given_and_nothing_is_recorded(findhold, ledger, written, monkeypatch):
    file = written("finds.csv", "SF,Ctx,State,Type", "1,1,wet,bulk")
    before = events(findhold, ledger)
    replies = iter(["kind", None])
    monkeypatch.setattr(asking, "on_terminal", lambda: True)
    monkeypatch.setattr(asking, "ask_one", lambda _question: next(replies))
    left = findhold("import", file, "--yes")
    assert left.code == 1
    assert "Nothing was recorded" in left.out
    assert options_in(left.out) == ["--answer", "column Type=kind"]
    assert events(findhold, ledger) == before


def test_json_never_asks(findhold, ledger, written, monkeypatch):
    monkeypatch.setattr(asking, "on_terminal", lambda: True)
    monkeypatch.setattr(asking, "ask_one", lambda _question: pytest.fail("asked"))
    done = findhold("import", written("finds.csv", "SF,Ctx,State", "1,1,wet"), "--json")
    assert done.code == 2
    assert done.json["error"]["questions"][0]["about"] == "State: wet"


@pytest.mark.parametrize(
    ("typed", "choice"),
    [("1", "damp"), ("2", "dry"), ("DRY", "dry"), ("3", None), ("0", None), ("soggy", None)],
)
def test_a_choice_is_named_by_its_number_or_its_word(typed, choice):
    assert asking.chosen(typed, ("damp", "dry")) == choice


def test_free_answers_are_taken_as_typed():
    assert asking.chosen("Europe/London", ()) == "Europe/London"


def at_a_terminal(arguments, replies, env):
    """Run the program in a terminal of its own, typing a reply at each place where it waits; exit code and screen."""
    master, slave = pty.openpty()
    program = [sys.executable, "-m", "findhold.cli", *arguments]
    with subprocess.Popen(program, stdin=slave, stdout=slave, stderr=slave, env=env, close_fds=True) as process:
        os.close(slave)
        seen, told, ends = "", 0, time.monotonic() + 60
        waiting = list(replies)
        while time.monotonic() < ends:
            ready, _, _ = select.select([master], [], [], 0.2)
            if ready:
                try:
                    part = os.read(master, 65536)
                except OSError:
                    break
                if not part:
                    break
                seen += part.decode("utf-8", "replace")
            if waiting and waiting[0][0] in seen[told:]:
                told = len(seen)
                os.write(master, f"{waiting.pop(0)[1]}\n".encode())
        code = process.wait(timeout=20)
    os.close(master)
    return code, seen, waiting


def needs_a_terminal():
    """Skip where the machine has no pseudo-terminals to give; on a build machine that is a failure."""
    try:
        for end in os.openpty():
            os.close(end)
    except OSError as error:
        if os.environ.get("CI") == "true":
            raise
        pytest.skip(f"no pseudo-terminal here ({error})")


def test_in_a_real_terminal_the_question_is_asked_and_a_number_answers_it(findhold, ledger, written):
    needs_a_terminal()
    file = written("finds.csv", "SF,Ctx,Thing,Type", "1,1,jar,bulk", "2,2,pin,registered")
    env = {**os.environ, "TERM": "xterm", "COLUMNS": "90"}
    replies = [("nothing to give up", "9"), ("nothing to give up", "1"), ("Read the file like this?", "y")]
    code, seen, left = at_a_terminal(["import", file], replies, env)
    assert (code, left) == (0, []), seen
    assert "'9' is neither a number from 1 to 2 nor one of the choices" in " ".join(seen.split())
    assert facts(findhold, "1")["kind"] == "bulk"
    gone, seen, _ = at_a_terminal(
        ["import", written("more.csv", "SF,Ctx,Stuff,Type", "8,1,x,bulk")], [("nothing to give up", "")], env
    )
    assert gone == 1
    assert "Nothing was recorded" in seen


# --- nothing is lost -----------------------------------------------------------------------------------------------


def test_cells_of_columns_without_a_field_are_kept_with_their_row(findhold, ledger, written):
    file = written("finds.csv", "SF,Ctx,Thing,Drawer,Shade", "1,1,jar,A 3,", "2,2,pin,,grey")
    done = findhold("import", file)
    assert done.code == 0, done.text
    assert "kept as they stand, not used: Drawer, Shade" in done.text
    assert "not read" not in done.text
    assert facts(findhold, "1")["other"] == {"Drawer": "A 3"}
    assert facts(findhold, "2")["other"] == {"Shade": "grey"}
    shown = findhold("show", "1").text
    assert "Drawer: A 3" in shown
    assert "{" not in shown
    before = events(findhold, ledger)
    assert findhold("import", file, "--json").json["unchanged"] == 2
    assert events(findhold, ledger) == before


def test_a_kept_cell_that_changes_is_a_difference_and_a_further_one_is_not(findhold, ledger, written):
    assert findhold("import", written("finds.csv", "SF,Ctx,Drawer", "1,1,A 3")).code == 0
    changed = findhold("import", written("finds.csv", "SF,Ctx,Drawer", "1,1,B 9"))
    assert changed.code == 2
    assert "'Drawer: B 9' differs from the ledger, which has 'Drawer: A 3' for find 1" in changed.text
    further = findhold("import", written("finds.csv", "SF,Ctx,Shade", "1,1,grey"))
    assert further.code == 0, further.text
    assert facts(findhold, "1")["other"] == {"Drawer": "A 3", "Shade": "grey"}


def test_a_mapping_corrected_later_moves_the_kept_cells(findhold, ledger, written):
    file = written("finds.csv", "SF,Ctx,Colour and kind", "1,1,red jar", "2,2,grey pin")
    assert findhold("import", file).code == 0
    moved = findhold("import", file, "--answer", "column Colour and kind=what")
    assert moved.code == 0, moved.text
    assert facts(findhold, "1")["what"] == "red jar"
    assert not facts(findhold, "1").get("other")
    assert "filled in from finds.csv" in findhold("show", "1", "--json").json["story"][-1]["body"]["reason"]
    shown = findhold("show", "1").text
    assert "None" not in shown
    # The corrected mapping is the one kept.
    before = events(findhold, ledger)
    assert findhold("import", file, "--json").json["columns"]["Colour and kind"] == "what"
    assert events(findhold, ledger) == before


# --- what fills a gap is not a correction ----------------------------------------------------------------------------


def test_a_file_that_only_adds_needs_no_other_columns_and_no_correction(findhold, ledger, written):
    assert (
        findhold("import", written("finds.csv", "Find no,Kind,Ctx,What", "1,bulk,1,jar", "2,registered,2,pin")).code
        == 0
    )
    added = findhold(
        "import", written("points.csv", "SF,E,N,Level", "1,451383.2,206866.1,51.6", "2,451384.1,206866.4,51.5")
    )
    assert added.code == 0, added.text
    assert "0 new, 6 filled in, 0 corrected" in added.text
    assert facts(findhold, "1")["easting_m"] == pytest.approx(451383.2)
    assert facts(findhold, "1")["kind"] == "bulk"
    story = findhold("show", "1", "--json").json["story"][-1]
    assert story["body"]["reason"] == "filled in from points.csv"
    assert "51.6" in story["meaning"]


def test_a_new_number_in_such_a_file_still_needs_what_a_find_needs(findhold, ledger, written):
    assert findhold("import", written("finds.csv", "SF,Ctx,What", "1,1,jar")).code == 0
    told = findhold(
        "import", written("points.csv", "SF,E,N,Level", "1,451383.2,206866.1,51.6", "7,451384.1,206866.4,51.5")
    )
    assert told.code == 2
    assert "no column is mapped to context, and row 3 is not in the ledger yet" in told.text
    asked = findhold("import", written("more.csv", "SF,Where,What", "1,1,jar", "7,2,pin"))
    assert "Which column is 'Context'?" in asked.text
    assert options_in(asked.err) == ["--answer", "field context=Where"]


def test_a_filled_cell_that_differs_needs_a_reason_and_values_are_worded(findhold, ledger, written):
    assert findhold("import", written("a.csv", "SF,Ctx,Mass (g),Analyses", '1,1,12200,"XRF, lipid"')).code == 0
    differs = findhold("import", written("b.csv", "SF,Mass (kg),Analyses,What", "1,12.3,lipid,jar"))
    assert differs.code == 2
    assert "'12.3 kg' differs from the ledger, which has '12.2 kg' for find 1" in differs.text
    assert "'lipid' differs from the ledger, which has 'XRF, lipid'" in differs.text
    assert not re.search(r"None|\[|True|datetime", differs.text)
    done = findhold("import", "b.csv", "--correct", "--reason", "weighed again")
    assert done.code == 0, done.text
    reasons = [line["body"].get("reason") for line in findhold("show", "1", "--json").json["story"]]
    assert reasons == [None, "filled in from b.csv", "weighed again"]


# --- the record of files ---------------------------------------------------------------------------------------------


def test_an_unchanged_file_by_its_map_records_nothing(findhold, ledger, written):
    file = written("finds.csv", "SF,Ctx,Drawer", "1,1,A 3")
    assert findhold("import", file).code == 0
    assert findhold("import", file, "--write-map", "map.toml").code == 0
    before = events(findhold, ledger)
    again = findhold("import", file, "--map", "map.toml")
    assert "Nothing to record" in again.text
    assert events(findhold, ledger) == before
    rows = {row["file"]: (row["new"], row["changed"]) for row in findhold("list", "files", "--json").json["rows"]}
    assert rows["finds.csv"] == (1, 0)


def test_the_written_map_says_what_is_open(findhold, ledger, written):
    file = written("finds.csv", "SF,Ctx,Type", "1,1,bulk")
    assert findhold("import", file, "--write-map", "map.toml").code == 0
    content = Path("map.toml").read_text(encoding="utf-8")
    assert content.startswith("# ? Column 'Type' holds only words of 'Registered or bulk' (bulk).")
    assert 'not_used = ["Type"]' in content


# --- the year of an exposure -----------------------------------------------------------------------------------------


def test_an_exposure_in_a_year_to_come_is_a_question(findhold, ledger, written):
    asked = findhold("import", written("finds.csv", "SF,Ctx,Exposed", "1,1,2962-07-28 10:20"))
    assert asked.code == 2
    assert "2962-07-28 10:20. Is the year right?" in asked.text
    done = findhold("import", "finds.csv", *options_in(asked.err))
    assert done.code == 0, done.text
    # What is recorded already is not asked about again, and the answer is not kept for other files.
    assert findhold("import", "finds.csv").code == 0
    assert findhold("import", written("more.csv", "SF,Ctx,Exposed", "2,1,2962-07-28 10:20")).code == 2


@pytest.mark.parametrize("kind", [(), ("--kind", "box")])
def test_headings_without_a_row_are_bad_input(findhold, withy_carr, tmp_path, kind):
    file = tmp_path / "heads.csv"
    file.write_text("static stress (kPa),G,drop height (m),thickness (mm)\n", encoding="utf-8")
    refused = findhold("import", file, *kind)
    assert refused.code == 2
    assert "there is no row below its headings" in " ".join(refused.text.split())
