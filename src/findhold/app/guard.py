"""The guard: who may knock, how much they may carry, and what every answer says about itself."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

from findhold.errors import FindholdError
from findhold.service.doorway import Doorway
from findhold.service.signing import RefusedError

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
Asgi = Callable[[Scope, Receive, Send], Awaitable[None]]
Told = Callable[[Scope, FindholdError], Asgi]
"""How a refusal is told: by the page or by the API, as it was asked."""

LOG = logging.getLogger("findhold")
SAFE = ("GET", "HEAD", "OPTIONS")
MOST_BYTES = 1 << 20
"""A form or a JSON request [bytes]."""
MOST_UPLOAD_BYTES = 64 << 20
"""A request that brings files: photographs, logger files."""
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self' 'wasm-unsafe-eval'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "media-src 'self' blob:",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # Nothing is told to other hosts; "no-referrer" would also blank the Origin of our own forms, which the guard reads.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}


class TooLargeError(FindholdError):
    """More bytes than a request may bring."""

    code = "too_large"


class BrokenError(FindholdError):
    """A mistake of the program itself; the details stand in the terminal."""

    code = "broken"

    def __init__(self) -> None:
        super().__init__(
            "the program made a mistake of its own",
            limit="what was recorded before is safe",
            do="Try again; if it stays so, keep the lines in the terminal and report them",
        )


class Guard:
    """Middleware before everything: host, origin, size, and the headers of every answer."""

    def __init__(self, app: Asgi, doorway: Doorway, told: Told) -> None:
        self.app = app
        self.doorway = doorway
        self.told = told

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or tell why not."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        visit, fresh = self._visit(headers)
        scope.setdefault("state", {})["visit"] = visit
        sending = self._dressed(scope, send, self.doorway.sealed(visit) if fresh else None)
        try:
            _check_host(headers.get("host", ""), self.doorway.hosts)
            if scope["method"] not in SAFE:
                _check_origin(headers, scope["scheme"])
            most = MOST_UPLOAD_BYTES if "multipart/" in headers.get("content-type", "") else MOST_BYTES
            _check_length(headers.get("content-length", "0"), most)
        except FindholdError as error:
            await self.told(scope, error)(scope, receive, sending)
            return
        try:
            await self.app(scope, _counted(receive, most), sending)
        except FindholdError as error:
            await self.told(scope, error)(scope, receive, sending)
        except Exception:  # the last line: whatever it is, the person is told in our own words
            LOG.exception("%s %s", scope["method"], scope["path"])
            await self.told(scope, BrokenError())(scope, receive, sending)

    def _visit(self, headers: dict[str, str]) -> tuple[Any, bool]:
        """The visit, and whether the browser has to be given its text."""
        sealed = _cookie(headers.get("cookie", ""), self.doorway.cookie)
        visit = self.doorway.visit(sealed)
        return visit, sealed is None or self.doorway.sealed(visit) != sealed

    def _dressed(self, scope: Scope, send: Send, cookie: str | None) -> Send:
        page = not scope["path"].startswith(("/static/", "/api/"))

        async def sending(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                present = {name.lower() for name, _ in message["headers"]}
                dress = {name.encode(): value.encode() for name, value in HEADERS.items()}
                dress[b"cache-control"] = b"no-cache" if scope["path"].startswith("/static/") else b"no-store"
                message["headers"] = [
                    *message["headers"],
                    *((name, value) for name, value in dress.items() if name not in present),
                ]
                if page and cookie is not None and b"set-cookie" not in present:
                    text = self.doorway.cookie_header(cookie)
                    message["headers"].append((b"set-cookie", text.encode("latin-1")))
            await send(message)

        return sending


def _cookie(text: str, name: str) -> str | None:
    for part in text.split(";"):
        key, equals, value = part.strip().partition("=")
        if equals and key == name:
            return value
    return None


def _check_host(host: str, allowed: tuple[str, ...]) -> None:
    """Refuse names that are not ours: a page elsewhere could have its own name point at this computer."""
    name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
    if name.lower() not in allowed:
        raise RefusedError(
            "this address is not served here", where=host[:100], limit=", ".join(allowed), do="Open one of these"
        )


def _check_origin(headers: dict[str, str], scheme: str) -> None:
    """Refuse what another site sends in a visitor's name."""
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    own = (scheme, headers.get("host", "").lower())
    if site is not None and site not in ("same-origin", "none"):
        raise _cross_site()
    if origin is not None:
        parts = urlsplit(origin.lower())
        if (parts.scheme, parts.netloc) != own:
            raise _cross_site()


def _cross_site() -> RefusedError:
    return RefusedError("another site asked for this, so it was not done", do="Open the page here and do it from there")


def _check_length(text: str, most: int) -> None:
    if not text.isdigit() or int(text) > most:
        raise _too_large(most)


def _too_large(most: int) -> TooLargeError:
    return TooLargeError(
        "this is too large to take in one go",
        limit=f"{most / (1 << 20):g} MB",
        do="Send less at a time: one photograph, or a shorter logger file",
    )


def _counted(receive: Receive, most: int) -> Receive:
    """Count what comes, for a length may be left out or be a lie."""
    count = 0

    async def receiving() -> MutableMapping[str, Any]:
        nonlocal count
        message = await receive()
        count += len(message.get("body", b""))
        if count > most:
            raise _too_large(most)
        return message

    return receiving
