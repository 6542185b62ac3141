"""Errors as pages: what is wrong, where, the limit, what to do."""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import Request
from starlette.responses import RedirectResponse, Response

from findhold.errors import FindholdError
from findhold.service.doorway import status_of
from findhold.web.desk import Desk


def error_page(request: Request, error: FindholdError) -> Response:
    """The error as a page; whoever has not signed in is sent to do so and comes back afterwards."""
    if error.code == "sign_in" and request.method == "GET":
        back = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse("/sign-in" if back == "/" else f"/sign-in?{urlencode({'next': back})}", 303)
    desk = Desk(request=request, doorway=request.app.state.doorway, visit=request.state.visit)
    return desk.page("trouble.html", status=status_of(error), trouble=error.as_dict())
