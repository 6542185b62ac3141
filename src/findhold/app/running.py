"""Serve: the address, the certificate, the server, and the browser."""

from __future__ import annotations

import errno
import socket
import threading
import time
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from findhold.app.authority import Certified, certified
from findhold.app.build import make_app
from findhold.errors import BadInput
from findhold.service import settings, signing, visits
from findhold.service.doorway import Doorway
from findhold.service.office import office, wall_clock

PORT = 8470
LOOPBACK = ("localhost", "127.0.0.1", "[::1]")


@dataclass(frozen=True, slots=True, kw_only=True)
class ServeRequest:
    """What to serve and to whom; ledger None takes the one of the settings. port 0 takes any that is free."""

    ledger: str | None = None
    port: int = PORT
    lan: bool = False
    tls: bool = False
    browser: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """The place taken and everything made; `run` serves until it is stopped, `close` gives the place back unused.

    address : for this computer. addresses : for other devices on the network. fingerprint : of the authority, to
    compare on a tablet; "" without TLS.
    """

    ledger: str
    address: str
    addresses: tuple[str, ...]
    fingerprint: str
    people: tuple[str, ...]
    doorway: Doorway
    run: Callable[[], None]
    close: Callable[[], None]


def ready(request: ServeRequest, *, now: Callable[[], datetime] = wall_clock) -> Ready:
    """Check everything that can be wrong before the first page, and take the port.

    Raises
    ------
    BadInput : the port is taken, or nobody has a passphrase and the network is to be served.
    LedgerTrouble : there is no ledger, or it cannot be opened for writing.
    """
    path = settings.ledger_path(request.ledger)
    with office(str(path), now=now) as desk:
        people = tuple(one.name for one in signing.people(desk, needed=request.lan))
    if request.lan and not people:
        raise BadInput(
            "nobody has a passphrase yet, and the network is served only to people who have one",
            where="--lan",
            do='Give each person one: findhold passphrase "NAME"',
        )
    sock = _bound("0.0.0.0" if request.lan else "127.0.0.1", request.port)  # noqa: S104  # asked for with --lan
    port = sock.getsockname()[1]
    outside = lan_addresses() if request.lan else ()
    hosts = (*LOOPBACK, *outside)
    cert = certified(tuple(host for host in hosts)) if request.tls else None
    scheme = "https" if request.tls else "http"
    addresses = tuple(f"{scheme}://{host}:{port}/" for host in outside)
    doorway = Doorway(
        ledger=str(path.resolve()),
        secret=visits.signing_secret(),
        needed=request.lan,
        secure=request.tls,
        hosts=hosts,
        addresses=addresses,
        ca_pem=cert.ca_pem if cert else None,
        ca_fingerprint=cert.fingerprint if cert else "",
        now=now,
    )
    address = f"{scheme}://localhost:{port}/"
    return Ready(
        ledger=str(path),
        address=address,
        addresses=addresses,
        fingerprint=cert.fingerprint if cert else "",
        people=people,
        doorway=doorway,
        run=lambda: _run(doorway, sock, cert, address if request.browser else None),
        close=sock.close,
    )


def lan_addresses() -> tuple[str, ...]:
    """This computer's addresses on its networks; no packet is sent to find them."""
    found: list[str] = []
    # An address of the documentation range: a datagram socket only looks which way it would go, and fails without one.
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        asked.connect(("192.0.2.1", 9))
        found.append(asked.getsockname()[0])
    with suppress(OSError):
        found += [str(item[4][0]) for item in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return tuple(dict.fromkeys(name for name in found if not name.startswith(("127.", "0."))))


def _bound(host: str, port: int) -> socket.socket:
    sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((host, port))
        sock.listen(128)
    except OSError as error:
        sock.close()
        if error.errno == errno.EADDRINUSE:
            raise BadInput(
                f"port {port} is taken by another program, perhaps by findhold itself",
                where=f"--port {port}",
                do=f"Open http://localhost:{port}/ to see, or serve on another: --port {port + 1}",
            ) from error
        raise BadInput(
            f"port {port} cannot be used ({error.strerror})",
            where=f"--port {port}",
            limit="1024 to 65535 for ordinary users",
            do="Give another port",
        ) from error
    return sock


def _run(doorway: Doorway, sock: socket.socket, cert: Certified | None, browse: str | None) -> None:
    import uvicorn

    tls: dict[str, Path] = {} if cert is None else {"ssl_keyfile": cert.key_file, "ssl_certfile": cert.cert_file}
    config = uvicorn.Config(
        make_app(doorway),
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=15,
        limit_concurrency=200,
        timeout_graceful_shutdown=5,
        **tls,  # type: ignore[arg-type]  # two paths
    )
    server = uvicorn.Server(config)
    if browse is not None:
        threading.Thread(target=_browse, args=(server, browse), daemon=True).start()
    server.run(sockets=[sock])


def _browse(server: object, address: str) -> None:
    """Open the browser once the server answers."""
    for _ in range(200):
        if getattr(server, "started", False):
            webbrowser.open(address)
            return
        time.sleep(0.05)
