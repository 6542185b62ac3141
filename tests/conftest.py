"""Fixtures for every folder of tests."""

import csv
import os
import pathlib

import pytest
from hypothesis import settings

# The same examples on every machine, so that a red run means a change and not a draw; HYPOTHESIS_PROFILE=search looks
# for new ones. No deadline: how fast a test is says nothing about whether it is right.
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))

AUTHORITIES = pathlib.Path(__file__).parent / "authorities"


@pytest.fixture
def authority():
    """Rows of a printed table as typed: authority("keeping_psat.csv") -> list of dicts."""

    def rows(name: str) -> list[dict[str, str]]:
        with (AUTHORITIES / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    return rows
