"""Sign in and out."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from findhold.errors import FindholdError
from findhold.service import signing
from findhold.service.doorway import status_of
from findhold.web.desk import Desk, Guest, Signed

router = APIRouter()


@router.get("/sign-in")
def sign_in(desk: Guest) -> Response:
    """Names to choose from."""
    return _page(desk, None)


@router.post("/sign-in")
def signed_in(desk: Guest) -> Response:
    """A name was chosen, with its passphrase where one is asked for."""
    doorway, client = desk.doorway, desk.request.client
    asked = signing.SignIn(
        person=desk.typed.get("person", ""),
        passphrase=desk.typed.get("passphrase", ""),
        needed=doorway.needed,
        address=client.host if client else "",
    )
    try:
        with doorway.writing(asked.person) as office:
            visit = signing.sign_in(office, asked, doorway.tries, doorway.now().timestamp())
    except FindholdError as error:
        return _page(desk, error)
    answer = RedirectResponse(_inside(desk.typed.get("next", "/")), 303)
    answer.headers["set-cookie"] = doorway.cookie_header(doorway.sealed(visit))
    return answer


@router.post("/sign-out")
def sign_out(desk: Signed) -> Response:
    """The person leaves."""
    with desk.doorway.writing(desk.visit.person) as office:
        signing.sign_out(office, desk.visit)
    answer = RedirectResponse("/sign-in", 303)
    answer.headers["set-cookie"] = desk.doorway.cookie_header("")
    return answer


def _page(desk: Desk, error: FindholdError | None) -> Response:
    with desk.looking() as office:
        names = signing.people(office, needed=desk.doorway.needed)
    back = _inside(desk.typed.get("next") or desk.request.query_params.get("next", "/"))
    return desk.page(
        "signin.html",
        status=200 if error is None else status_of(error),
        people=names,
        back=back,
        trouble=None if error is None else error.as_dict(),
    )


def _inside(path: str) -> str:
    """An address of this house only: anything that could lead to another host becomes Today."""
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) and "\n" not in path else "/"
