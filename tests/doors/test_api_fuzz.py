"""The API asked with whatever its own description allows: it never breaks, and every error has its shape."""

import pytest
import schemathesis
from conftest_web import Browser, make_browser
from hypothesis import HealthCheck, given, settings

SLOW = {"/api/v1/proof", "/api/v1/labels", "/api/v1/labels.pdf", "/api/v1/plans", "/api/v1/sign-out", "/api/v1/sign-in"}
"""Left to tests of their own: they take long with every draw, or end the visit."""


@pytest.fixture
def visited(planned):
    """A signed-in browser, and the description of the API it is at."""
    browser = make_browser(planned)
    browser.sign_in()
    return browser


def operations(browser):
    schema = schemathesis.openapi.from_dict(browser.app.openapi())
    for found in schema.get_all_operations():
        operation = found.ok()
        if operation.path not in SLOW:
            yield operation


def send(browser: Browser, case):
    """The drawn request, as a signed-in program would send it."""
    query = {name: value for name, value in (case.query or {}).items() if value is not None}
    headers = {"X-Findhold-Token": browser.token}
    words = {}
    if isinstance(case.body, dict | list) and "json" in (case.media_type or ""):
        words["json"] = case.body
    elif case.media_type == "multipart/form-data" and isinstance(case.body, dict):
        words["files"] = {name: ("x", str(value).encode("utf-8", "replace")) for name, value in case.body.items()}
    return browser.ask(case.method, case.formatted_path, params=query, headers=headers, **words)


def test_nothing_that_can_be_asked_breaks_it(visited):
    for operation in operations(visited):

        @settings(max_examples=8, database=None, suppress_health_check=list(HealthCheck), deadline=None)
        @given(case=operation.as_strategy())
        def asked(case):
            answer = send(visited, case)
            assert answer.status_code < 500 or answer.status_code == 503, (
                case.method,
                case.formatted_path,
                answer.text,
            )
            if answer.status_code >= 400:
                error = answer.json()["error"]
                assert {"code", "wrong", "where", "limit", "do", "sentence"} <= set(error), answer.text
                assert error["do"]

        asked()
