"""Sign in, sign out, who can sign in, and what was recorded under a key."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from pydantic import Field

from findhold.api.desk import Guest, Signed
from findhold.api.words import Answer, Words
from findhold.errors import UnknownName
from findhold.service import once, signing
from findhold.service.wire import plain

router = APIRouter(tags=["sign-in"])


class SignInWords(Words):
    """Who signs in."""

    person: str = Field(min_length=1, max_length=200, description="A name of the list of people.")
    passphrase: str = Field(default="", max_length=300, description="Where one is asked for.")


@router.get("/people-who-sign-in")
def who(desk: Guest) -> Answer:
    """Names to choose from, and whether a passphrase is asked for."""
    needed = desk.doorway.needed
    return desk.look(lambda office: {"people": plain(signing.people(office, needed=needed))})


@router.post("/sign-in")
def sign_in(words: SignInWords, request: Request, response: Response, desk: Guest) -> Answer:
    """Sign in: sets the cookie of the visit and gives the token that everything that writes must carry."""
    doorway = desk.doorway
    asked = signing.SignIn(
        person=words.person,
        passphrase=words.passphrase,
        needed=doorway.needed,
        address=request.client.host if request.client else "",
    )
    with doorway.writing(words.person) as office:
        visit = signing.sign_in(office, asked, doorway.tries, doorway.now().timestamp())
    response.headers["set-cookie"] = doorway.cookie_header(doorway.sealed(visit))
    return {"person": visit.person, "token": doorway.token(visit)}


@router.post("/sign-out")
def sign_out(desk: Signed, response: Response) -> Answer:
    """Sign out: ends the visit in this browser."""
    with desk.doorway.writing(desk.visit.person) as office:
        signing.sign_out(office, desk.visit)
    response.headers["set-cookie"] = desk.doorway.cookie_header("")
    return {"person": "", "token": ""}


@router.get("/receipts/{key}")
def receipt(key: str, desk: Signed) -> Answer:
    """What was recorded under a key, for whoever lost the answer."""
    found = desk.look(lambda office: once.answer_of(office, key) or {})
    if not found:
        raise UnknownName("receipt", key, [])
    return found
