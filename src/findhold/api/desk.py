"""What every operation has at hand: who asks, and the office to look or to record in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Depends, Header, Request, Response

from findhold.service.doorway import Doorway
from findhold.service.office import Office
from findhold.service.once import Asked, once
from findhold.service.signing import RefusedError, SignInNeededError
from findhold.service.visits import Visit

TOKEN_HEADER = "X-Findhold-Token"  # noqa: S105  # a header's name
SAFE = ("GET", "HEAD")


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """The doorway, the visit, and the key of the request."""

    doorway: Doorway
    visit: Visit
    key: str | None
    response: Response

    def look(self, act: Callable[[Office], dict[str, Any]]) -> dict[str, Any]:
        """Answer from the ledger without writing."""
        with self.doorway.reading(self.visit.person) as office:
            return act(office)

    def record(self, operation: str, words: dict[str, Any], act: Callable[[Office], dict[str, Any]]) -> dict[str, Any]:
        """Do what writes, once for each key; a repeated answer says so in a header."""
        with self.doorway.writing(self.visit.person) as office:
            done = once(office, Asked(operation=operation, words=words, key=self.key), act)
        if self.key is not None:
            self.response.headers["Idempotency-Replayed"] = "true" if done.again else "false"
        return done.shape


def guest_desk(request: Request, response: Response) -> Desk:
    """The desk before anybody signed in."""
    return Desk(doorway=request.app.state.doorway, visit=request.state.visit, key=None, response=response)


def signed_desk(
    request: Request,
    response: Response,
    sent_token: Annotated[
        str | None, Header(alias=TOKEN_HEADER, description="From sign-in; needed for everything that writes.")
    ] = None,
    sent_key: Annotated[
        str | None,
        Header(alias="Idempotency-Key", description="A UUID of your own; the same again is recorded once."),
    ] = None,
) -> Desk:
    """The desk of a person who signed in; writing needs the token of the sign-in."""
    doorway, visit = request.app.state.doorway, request.state.visit
    if visit.guest:
        raise SignInNeededError("nobody has signed in", do="Sign in: POST /api/v1/sign-in with a person")
    if request.method not in SAFE and not doorway.token_right(visit, sent_token or ""):
        raise RefusedError(
            "the token is missing or not of this sign-in",
            where=TOKEN_HEADER,
            do="Send the token that sign-in gave, or that stands in the page",
        )
    return Desk(doorway=doorway, visit=visit, key=sent_key, response=response)


Signed = Annotated[Desk, Depends(signed_desk)]
Guest = Annotated[Desk, Depends(guest_desk)]
