"""Fixtures for every folder of tests."""

import csv
import pathlib

import pytest

AUTHORITIES = pathlib.Path(__file__).parent / "authorities"


@pytest.fixture
def authority():
    """Rows of a printed table as typed: authority("keeping_psat.csv") -> list of dicts."""

    def rows(name: str) -> list[dict[str, str]]:
        with (AUTHORITIES / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    return rows
