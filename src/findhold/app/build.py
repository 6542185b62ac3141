"""Join pages and API into one application on one ledger."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response

from findhold.api import routes, shape
from findhold.app.guard import Guard, Scope
from findhold.errors import BadInput, FindholdError, UnknownName
from findhold.service.doorway import Doorway
from findhold.web import pages, troubles


def make_app(doorway: Doorway) -> FastAPI:
    """The application: guard, API under /api/v1, pages everywhere else.

    Parameters
    ----------
    doorway : the ledger, the sealing secret and the rules of the address.
    """
    app = FastAPI(
        title="findhold",
        version="1",
        summary="Fragile, damp finds between the trench and the specialist's bench.",
        openapi_url="/api/v1/openapi.json",
        docs_url=None,
        redoc_url=None,
        swagger_ui_oauth2_redirect_url=None,
        responses=shape.RESPONSES,
    )
    app.state.doorway = doorway
    app.include_router(routes.router())
    app.include_router(pages.router(), include_in_schema=False)
    pages.mount_static(app)
    app.add_exception_handler(FindholdError, _told)
    app.add_exception_handler(HTTPException, _told_http)
    app.add_exception_handler(RequestValidationError, _told_invalid)
    app.add_middleware(Guard, doorway=doorway, told=_told_in_guard)
    return app


def _answer(request: Request, error: FindholdError) -> Response:
    """An error as the one who asked reads it: JSON for the API, a page for people."""
    if request.url.path.startswith("/api/"):
        return shape.error_response(error)
    return troubles.error_page(request, error)


async def _told(request: Request, error: Exception) -> Response:
    if not isinstance(error, FindholdError):
        raise error
    return _answer(request, error)


async def _told_http(request: Request, error: Exception) -> Response:
    """A missing page or a method that is not served here, in our own words."""
    # What the guard raises while a body is being read arrives here as the reason of another error.
    if isinstance(error.__cause__, FindholdError):
        return _answer(request, error.__cause__)
    status = error.status_code if isinstance(error, HTTPException) else 500
    if status == 404:
        return _answer(request, NotHereError(request.url.path))
    if status == 405:
        return _answer(request, NotServedError(request.method, request.url.path))
    told = BadInput(
        "the request cannot be read", where=request.url.path, do="Go back to the page before and try from there"
    )
    return _answer(request, told)


async def _told_invalid(request: Request, error: Exception) -> Response:
    """Words of a request that are missing or of the wrong kind, all at once."""
    if not isinstance(error, RequestValidationError):
        raise error
    return _answer(request, shape.mistakes_of(error))


def _told_in_guard(scope: Scope, error: FindholdError) -> Any:
    return _answer(Request(scope), error)


class NotHereError(UnknownName):
    """There is no page of this address."""

    def __init__(self, path: str) -> None:
        super().__init__("page", path, [])
        self.do = "Check the address, or begin from Today"
        self.args = (self.sentence(),)


class NotServedError(BadInput):
    """A page that exists, asked for in a way it does not answer."""

    code = "not_served"

    def __init__(self, method: str, path: str) -> None:
        super().__init__(f"{method} is not served here", where=path, do="Go back to the page before")
