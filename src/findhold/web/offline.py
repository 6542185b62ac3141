"""Without a connection: the worker that keeps Round and Pack, the manifest to install by, and what is not sent yet."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from pathlib import Path

from fastapi import APIRouter
from starlette.responses import Response

from findhold.web.desk import Guest

STATIC = Path(__file__).parent / "static"
KEPT = (".css", ".js", ".svg")
router = APIRouter()


@router.get("/sw.js")
def worker(desk: Guest) -> Response:
    """The worker, with the version and the files of this program written into it."""
    del desk
    version, files = _kept()
    text = (STATIC / "sw.js").read_text(encoding="utf-8")
    text = text.replace('"VERSION"', json.dumps(version)).replace('["FILES"]', json.dumps(files))
    return Response(text, media_type="text/javascript", headers={"cache-control": "no-cache"})


@router.get("/manifest.webmanifest")
def manifest(desk: Guest) -> Response:
    """What an installed findhold is called and looks like."""
    del desk
    told = {
        "name": "findhold",
        "short_name": "findhold",
        "description": "Fragile, damp finds between the trench and the specialist's bench.",
        "start_url": "/round",
        "scope": "/",
        "display": "standalone",
        "lang": "en-GB",
        "background_color": "#fbfaf5",
        "theme_color": "#fbfaf5",
        "icons": [
            {"src": "/static/mark-192.png", "sizes": "192x192", "type": "image/png"},
            {"src": "/static/mark-512.png", "sizes": "512x512", "type": "image/png"},
            {"src": "/static/mark.svg", "sizes": "any", "type": "image/svg+xml"},
        ],
    }
    return Response(json.dumps(told), media_type="application/manifest+json")


@router.get("/unsent")
def unsent(desk: Guest) -> Response:
    """What this device has done and not sent; the list itself is made on the device."""
    return desk.page("unsent.html")


@router.get("/offline")
def offline(desk: Guest) -> Response:
    """What the worker shows for a page that is not kept."""
    return desk.page("offline.html")


@cache
def _kept() -> tuple[str, list[str]]:
    """A version that changes with any file that is kept, and their addresses; what is vendored is kept when used."""
    files = sorted(file for file in STATIC.iterdir() if file.suffix in KEPT and file.name != "sw.js")
    digest = hashlib.sha256()
    for file in [*files, STATIC / "sw.js"]:
        digest.update(file.name.encode() + file.read_bytes())
    return digest.hexdigest()[:12], [f"/static/{file.name}" for file in files]
