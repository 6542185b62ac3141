"""Scripts of others are what they were when they were taken: licence and checksums stand beside them."""

import hashlib
import re
from pathlib import Path

import pytest

VENDOR = Path(__file__).parents[2] / "src" / "findhold" / "web" / "static" / "vendor"
FOLDERS = sorted(path for path in VENDOR.iterdir() if path.is_dir())


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda path: path.name)
def test_each_file_has_its_checksum_and_the_folder_its_licence(folder):
    told = dict(
        reversed(line.split("  ", 1))
        for line in (folder / "VERSION.txt").read_text(encoding="utf-8").splitlines()
        if re.match(r"[0-9a-f]{64}  ", line)
    )
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert there - {"LICENSE", "VERSION.txt"} == set(told)
    assert "LICENSE" in there
    for name, sha256 in told.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == sha256, name
