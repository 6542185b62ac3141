"""The API asked with what its own description allows, and with what it forbids: it never breaks, and keeps its word."""

from contextlib import suppress

import httpx
import pytest
import schemathesis
from conftest_web import Browser, make_browser
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS, load_all_checks

from findhold.service.proving import ProofRequest, prove_ledger

load_all_checks()
KEEPS_ITS_WORD = CHECKS.get_by_names(
    ["status_code_conformance", "content_type_conformance", "response_schema_conformance"]
)
SLOW = {"/api/v1/proof", "/api/v1/labels", "/api/v1/labels.pdf", "/api/v1/plans", "/api/v1/finds/{number}/ways-out"}
"""Left to tests of their own: they take long with every draw."""
ENTRANCE = {"/api/v1/sign-in", "/api/v1/sign-out", "/api/v1/people-who-sign-in"}
"""Left to tests of their own: they end the visit, or need none."""
PARTS = {
    GenerationMode.POSITIVE: settings(max_examples=5, database=None, suppress_health_check=list(HealthCheck)),
    GenerationMode.NEGATIVE: settings(max_examples=4, database=None, suppress_health_check=list(HealthCheck)),
}


@pytest.fixture
def visited(planned):
    """A signed-in browser."""
    browser = make_browser(planned)
    browser.sign_in()
    return browser


def operations(browser, without):
    """What its description lists, but for some addresses."""
    schema = schemathesis.openapi.from_dict(browser.app.openapi())
    found = [operation.ok() for operation in schema.get_all_operations()]
    return [operation for operation in found if operation.path not in without]


def carried(value) -> bool:
    """True for a header's text that can be written on the wire."""
    return isinstance(value, str) and value.isascii() and value.isprintable()


def send(browser: Browser, case, token: str | None = None):
    """The drawn request, as a program that signed in would send it."""
    drawn = {name: value for name, value in (case.headers or {}).items() if carried(value)}
    headers = {**drawn, "X-Findhold-Token": browser.token if token is None else token}
    query = {name: value for name, value in (case.query or {}).items() if value is not None}
    headers.pop("Content-Type", None)
    words = {}
    if case.media_type == "application/json" and isinstance(case.body, dict | list | str | int | float | None):
        words["json"] = case.body
    elif case.media_type == "multipart/form-data" and isinstance(case.body, dict):
        files = {name: value for name, value in case.body.items() if name in ("file", "picture")}
        made = httpx.Request(
            "POST",
            browser.base,
            files={name: ("x.ply", str(value).encode("utf-8", "replace")) for name, value in files.items()},
            data={name: str(value) for name, value in case.body.items() if name not in files},
        )
        words["content"] = made.read()
        headers["Content-Type"] = made.headers.get("Content-Type", "multipart/form-data")
    return browser.ask(case.method, case.formatted_path, params=query, headers=headers, **words)


@pytest.mark.parametrize("mode", PARTS, ids=lambda mode: mode.value)
def test_nothing_that_can_be_asked_breaks_it_or_what_it_promises(visited, planned, mode):
    for operation in operations(visited, SLOW | ENTRANCE):

        @PARTS[mode]
        @given(case=operation.as_strategy(generation_mode=mode))
        def asked(case):
            answer = send(visited, case)
            where = (case.method, case.formatted_path, case.body, answer.text[:500])
            assert answer.status_code < 500 or answer.status_code == 503, where
            # Every answer is of a status, kind and shape that the description names.
            case.validate_response(answer, checks=KEEPS_ITS_WORD)
            if answer.status_code >= 400:
                error = answer.json()["error"]
                assert {"code", "wrong", "where", "limit", "do", "sentence"} <= set(error), where
                assert error["do"], where

        with suppress(Unsatisfiable):  # nothing of it can be asked wrongly
            asked()
    assert prove_ledger(ProofRequest(ledger=str(planned))).whole


def test_no_operation_answers_a_stranger_or_writes_without_its_token(visited, planned):
    stranger = make_browser(planned)
    stranger.token = "made-up"
    for operation in operations(visited, ENTRANCE):

        @settings(max_examples=1, database=None, suppress_health_check=list(HealthCheck))
        @given(case=operation.as_strategy())
        def asked(case):
            assert send(stranger, case).status_code == 401, case.formatted_path
            if case.method != "GET":
                assert send(visited, case, token="made-up").status_code == 403, case.formatted_path

        asked()
