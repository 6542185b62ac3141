"""All operations as one router: every module beside this one that has a `router` is taken."""

from __future__ import annotations

import importlib
import pkgutil

from fastapi import APIRouter

from findhold import api

PREFIX = "/api/v1"


def router() -> APIRouter:
    """The operations under /api/v1, modules in the order of their names."""
    whole = APIRouter(prefix=PREFIX)
    for found in pkgutil.iter_modules(api.__path__):
        if found.name == "routes":
            continue
        module = importlib.import_module(f"{api.__name__}.{found.name}")
        if hasattr(module, "router"):
            whole.include_router(module.router)
    return whole
