"""How a tablet is told to trust this computer: the same plain steps in the terminal and on the page."""

from __future__ import annotations


def trust_steps(address: str, fingerprint: str) -> tuple[str, ...]:
    """The steps, for both kinds of tablet.

    Parameters
    ----------
    address : of the pages, as the tablet reaches them. fingerprint : SHA-256 of the authority's certificate.
    """
    return (
        f"On the tablet open {address}network and go on past the warning.",
        "Take “Certificate of this unit” from that page.",
        "iPad, iPhone: Settings, General, VPN & Device Management, install the profile; then General, About,"
        " Certificate Trust Settings, and switch it on.",
        "Android: Settings, Security, More, Install a certificate, CA certificate, and choose the file.",
        "Compare its SHA-256 fingerprint; if it differs, remove it again and tell whoever looks after the network:"
        f" {fingerprint}",
        f"Open {address} again: no warning any more, and the camera and work without a connection are there.",
        "When the tablet leaves the unit, remove the certificate from it.",
    )
