"""All pages as one router, and the navigation: every module beside this one that has a `router` is taken."""

from __future__ import annotations

import importlib
import pkgutil
from pathlib import Path
from types import ModuleType

from fastapi import APIRouter, FastAPI
from starlette.staticfiles import StaticFiles

from findhold import web
from findhold.web.navigation import Nav

STATIC = Path(__file__).parent / "static"


def modules() -> list[ModuleType]:
    """The pages' modules, by name."""
    names = [found.name for found in pkgutil.iter_modules(web.__path__) if found.name != "pages"]
    found = [importlib.import_module(f"{web.__name__}.{name}") for name in names]
    return [module for module in found if hasattr(module, "router")]


def navigation() -> tuple[Nav, ...]:
    """The entries of the navigation, in the order of the work."""
    return tuple(sorted((module.NAV for module in modules() if hasattr(module, "NAV")), key=lambda nav: nav.order))


def router() -> APIRouter:
    """All pages."""
    whole = APIRouter()
    for module in modules():
        whole.include_router(module.router)
    return whole


def mount_static(app: FastAPI) -> None:
    """Style, script and pictures of the pages, and the navigation that every page shows."""
    app.state.nav = navigation()
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
