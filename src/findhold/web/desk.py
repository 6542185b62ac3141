"""What every page has at hand: who is there, the office, the site, the form as typed, and the way to render."""

from __future__ import annotations

import uuid
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from typing import Annotated, Any
from urllib.parse import quote, urlencode
from zoneinfo import ZoneInfo

from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile
from starlette.responses import HTMLResponse, RedirectResponse, Response

from findhold.errors import FindholdError
from findhold.service.doorway import Doorway
from findhold.service.files_out import FileOut
from findhold.service.office import Office
from findhold.service.once import Answered, Asked, once
from findhold.service.signing import RefusedError, SignInNeededError
from findhold.service.visits import Visit
from findhold.web import rendering

SAFE = ("GET", "HEAD")


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """One request to a page. `typed` are the form's words as typed, `files` what was uploaded with it."""

    request: Request
    doorway: Doorway
    visit: Visit
    typed: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, UploadFile] = field(default_factory=dict)

    @contextmanager
    def looking(self) -> Iterator[Office]:
        """The office for looking."""
        with self.doorway.reading(self.visit.person) as office:
            self._keep_zone(office)
            yield office

    def _keep_zone(self, office: Office) -> None:
        """Keep the clock of the site that the page is about: everything on it is told by that clock."""
        if self.zone is None:
            with suppress(FindholdError):
                self.request.state.zone = office.clock_of(office.site(self.site(office)))

    @property
    def zone(self) -> ZoneInfo | None:
        """The clock of the page's site; None before anything was looked at."""
        return getattr(self.request.state, "zone", None)

    def record(self, operation: str, words: Mapping[str, Any], act: Callable[[Office], dict[str, Any]]) -> Answered:
        """Do what writes, once for each form that was sent out: a second tap gets the first one's answer."""
        with self.doorway.writing(self.visit.person) as office:
            return once(office, Asked(operation=operation, words=words, key=self.typed.get("_key")), act)

    def site(self, office: Office) -> str:
        """The site the page is about: the one in the address, else the ledger's first."""
        asked = self.request.query_params.get("site")
        if asked:
            return office.site(asked).number
        sites = office.ledger.states("site")
        return sites[0].number if sites else office.site().number

    def link(self, path: str, **words: Any) -> str:
        """An address inside the house that keeps the site of this page."""
        kept = {"site": self.request.query_params.get("site"), **words}
        told = urlencode({name: value for name, value in kept.items() if value not in (None, "")})
        return f"{path}?{told}" if told else path

    def page(self, template: str, *, status: int = 200, **words: Any) -> HTMLResponse:
        """A page from its template; every template also knows who is there, the navigation, the token and a key."""
        text = rendering.render(
            template,
            {
                "visit": self.visit,
                "token": self.doorway.token(self.visit),
                "key": uuid.uuid4(),
                "typed": self.typed,
                "link": self.link,
                "here": self.request.url.path,
                "nav": self.request.app.state.nav,
                "secure": self.doorway.secure or self.request.url.hostname in ("localhost", "127.0.0.1"),
                "query": self.request.query_params,
                "clock_zone": self.zone,
                **words,
            },
        )
        return HTMLResponse(text, status_code=status)

    def go(self, path: str, **words: Any) -> Response:
        """Send the browser to another page, so that reloading it sends nothing again."""
        return RedirectResponse(self.link(path, **words), status_code=303)


async def guest_desk(request: Request) -> AsyncIterator[Desk]:
    """The desk before anybody signed in; a form must carry this visit's token, and what it uploaded is let go after."""
    doorway, visit = request.app.state.doorway, request.state.visit
    typed: dict[str, str] = {}
    files: dict[str, UploadFile] = {}
    form = FormData()
    if request.method not in SAFE:
        form = await request.form(max_files=20, max_fields=400)
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                files[name] = value
            else:
                typed[name] = value
        token = request.headers.get("x-findhold-token") or typed.pop("_token", "")
        if not doorway.token_right(visit, token):
            await form.close()
            raise RefusedError(
                "this form is too old or was not made for this sign-in",
                do="Go back, load the page again and send it once more; nothing was recorded",
            )
    try:
        yield Desk(request=request, doorway=doorway, visit=visit, typed=typed, files=files)
    finally:
        await form.close()


async def signed_desk(desk: Annotated[Desk, Depends(guest_desk)]) -> Desk:
    """The desk of a person who signed in."""
    if desk.visit.guest:
        raise SignInNeededError("nobody has signed in", do="Choose who you are")
    return desk


Signed = Annotated[Desk, Depends(signed_desk)]
Guest = Annotated[Desk, Depends(guest_desk)]


def handed_out(made: FileOut) -> Response:
    """A file for the browser to show, under the name that it is saved by."""
    name = quote(made.name)
    return Response(
        made.data,
        media_type=made.media_type,
        headers={"content-disposition": f"inline; filename*=UTF-8''{name}"},
    )


def refusal(desk: Desk, error: FindholdError, template: str, **words: Any) -> Response:
    """The same page again with what is wrong at its head; what was typed stands where it was typed."""
    return desk.page(template, status=422, trouble=error.as_dict(), **words)
