"""On the network: the address to scan, the certificate to take, and what is missing over plain http."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from findhold.errors import UnknownName
from findhold.service.network import address_svg
from findhold.service.trust import trust_steps
from findhold.web.desk import Guest

router = APIRouter()


@router.get("/network")
def network_page(desk: Guest) -> Response:
    """Where other devices reach this computer, and how they come to trust it."""
    doorway = desk.doorway
    first = doorway.addresses[0] if doorway.addresses else None
    return desk.page(
        "network.html",
        addresses=doorway.addresses,
        code=address_svg(first) if first else None,
        steps=trust_steps(first or str(desk.request.base_url), doorway.ca_fingerprint) if doorway.ca_pem else (),
    )


@router.get("/findhold-authority.crt")
def authority(desk: Guest) -> Response:
    """The certificate of this computer's own authority, for a tablet to take."""
    if desk.doorway.ca_pem is None:
        raise UnknownName("certificate", "findhold-authority.crt", [], where="served without --tls")
    return Response(
        desk.doorway.ca_pem,
        media_type="application/x-x509-ca-cert",
        headers={"content-disposition": 'attachment; filename="findhold-authority.crt"'},
    )
