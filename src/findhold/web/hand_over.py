"""Hand over: choose boxes, print the sheet that two people sign. Nothing is recorded by it."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from findhold.errors import FindholdError
from findhold.service.doorway import status_of
from findhold.service.showing.hand_over import choosable, hand_over_sheet
from findhold.web.desk import Signed
from findhold.web.navigation import Nav

NAV = Nav(word="Hand over", path="/hand-over", order=80)
router = APIRouter()
Finds = Annotated[list[Annotated[str, Query(max_length=64)]] | None, Query(max_length=100)]


@router.get("/hand-over")
def hand_over_page(desk: Signed, find: Finds = None, numbers: Annotated[str, Query(max_length=1000)] = "") -> Response:
    """Boxes to choose from, or the sheet of those chosen."""
    chosen = (*(find or ()), *(part for part in re.split(r"[,;\s]+", numbers) if part))
    trouble = None
    with desk.looking() as office:
        site = desk.site(office)
        if chosen:
            try:
                sheet = hand_over_sheet(office, chosen, site)
                return desk.page("hand_over_sheet.html", sheet=sheet)
            except FindholdError as error:
                trouble = error
        choice = choosable(office, site)
    if trouble is None:
        return desk.page("hand_over.html", choice=choice, chosen=(), numbers="")
    status, wrong = status_of(trouble), trouble.as_dict()
    return desk.page("hand_over.html", status=status, trouble=wrong, choice=choice, chosen=find or (), numbers=numbers)
