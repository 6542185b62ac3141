"""Settings: policy, people and duty, stock, stores, sources; what changes is changed here, one event a change."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import Response

from findhold.errors import FindholdError
from findhold.service import changing
from findhold.service.doorway import status_of
from findhold.service.settings import settings_file
from findhold.service.unit import chosen_in_file, sources, unit
from findhold.web.desk import Desk, Signed
from findhold.web.navigation import Nav

NAV = Nav(word="Settings", path="/settings", order=90)
router = APIRouter()


@router.get("/settings")
def settings_page(desk: Signed) -> Response:
    """What the unit has chosen and what it has."""
    with desk.looking() as office:
        told = unit(office)
        changes = changing.newest_changes(office)
    return desk.page("settings.html", unit=told, changes=changes, chosen=chosen_in_file(), file=_file(desk))


@router.get("/settings/sources")
def sources_page(desk: Signed) -> Response:
    """Where the figures come from."""
    return desk.page("sources.html", sources=sources())


@router.get("/settings/{kind}/{name:path}")
def thing_page(kind: str, name: str, desk: Signed, done: str = "") -> Response:
    """One person, store, box or material: what may be changed of it, and its changes."""
    return desk.page("settings_thing.html", **_shown(desk, kind, name), done=done)


@router.post("/settings/{kind}/{name:path}")
def change(kind: str, name: str, desk: Signed) -> Response:
    """Record what was changed in the form; what stands as before is left alone."""
    fields, was, reason = {}, {}, desk.typed.get("reason", "")
    for field in changing.CHANGEABLE.get(kind, ()):
        before = desk.typed.get(f"was-{field}", "")
        if field in desk.typed and desk.typed[field].strip() != before:
            fields[field], was[field] = desk.typed[field], before
    if not fields:
        return desk.go(_path(kind, name), done="nothing")
    request = changing.ChangeRequest(kind=kind, name=name, fields=fields, was=was, reason=reason)
    words = {"kind": kind, "name": name, "fields": fields, "was": was, "reason": reason}
    try:
        desk.record("change", words, lambda office: changing.change_thing(office, request))
    except FindholdError as error:
        shown = _shown(desk, kind, name)
        status = status_of(error)
        return desk.page("settings_thing.html", status=status, trouble=error.as_dict(), done="", **shown)
    return desk.go(_path(kind, name), done="recorded")


def _path(kind: str, name: str) -> str:
    return f"/settings/{kind}/{quote(name, safe='')}"


def _shown(desk: Desk, kind: str, name: str) -> dict[str, Any]:
    with desk.looking() as office:
        return {"thing": changing.thing_told(office, kind, name), "file": _file(desk)}


def _file(desk: Desk) -> str:
    """Where settings.toml stands; its whole path is told at this computer only."""
    return settings_file().name if desk.doorway.needed else str(settings_file())
