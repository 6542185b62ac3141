"""A logger's file is kept beside the ledger under its checksum, and prove notices when it is gone or changed."""

from pathlib import Path

DEMO = Path(__file__).parents[2] / "src" / "findhold" / "demo"


def test_prove_notices_a_kept_file_that_was_changed_or_is_missing(findhold, withy_carr):
    done = findhold("import", "--logger", DEMO / "fridge2_logger.csv", "--store", "Fridge 2")
    assert done.code in (0, 1), done.text
    assert findhold("prove", withy_carr).code == 0
    (kept,) = (withy_carr.parent / "wcr26-files").iterdir()
    data = kept.read_bytes()
    kept.write_bytes(data.replace(b"4.7", b"3.7", 1))
    changed = findhold("prove", withy_carr, "--json")
    assert changed.code == 1
    assert "was changed" in changed.json["fault"]["why"]
    assert changed.json["fault"]["word"] == "store.logged.1"
    kept.unlink()
    assert "is not in wcr26-files" in findhold("prove", withy_carr, "--json").json["fault"]["why"]
    kept.write_bytes(data)
    assert findhold("prove", withy_carr).code == 0
