"""The API described for people, from its own description."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from findhold.web.desk import Signed

router = APIRouter()


@router.get("/api")
def api_page(desk: Signed) -> Response:
    """Every operation with its words, as the OpenAPI description has them."""
    described = desk.request.app.openapi()
    operations = [
        {"method": method.upper(), "path": path, **told}
        for path, methods in described["paths"].items()
        for method, told in methods.items()
    ]
    return desk.page("api.html", operations=operations)
