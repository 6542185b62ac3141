"""This computer's own certificate authority: made once, good only for local names, with short-lived certificates.

A tablet trusts what it was told to trust. The authority's certificate is put on each tablet by hand; its key never
leaves this computer, and its name constraints keep it from vouching for any public address, so that a stolen key is of
no use against the rest of the web.
"""

from __future__ import annotations

import ipaddress
import os
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from findhold.errors import LedgerTrouble
from findhold.service.settings import settings_folder

AUTHORITY_DAYS = 5 * 365
LEAF_DAYS = 60
RENEW_DAYS = 20
"""A certificate with fewer days left is made anew when the program starts (judgement)."""
LOCAL_NETS = ("127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "::1/128", "fc00::/7")
"""Private address ranges of RFC 1918, RFC 3927 and RFC 4193, and loopback."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Certified:
    """The files a server needs, the authority's certificate for tablets, and its fingerprint to compare."""

    key_file: Path
    cert_file: Path
    ca_pem: bytes
    fingerprint: str


def certified(hosts: tuple[str, ...], now: datetime | None = None) -> Certified:
    """Key and certificate for these names and addresses; authority and certificate are made or renewed when needed.

    Raises
    ------
    LedgerTrouble : the settings folder cannot be written or holds something else.
    """
    at = now or datetime.now(UTC)
    folder = settings_folder() / "tls"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o700)
        ca_key, ca = _authority(folder, at)
        cert_file = folder / "server.pem"
        key_file = folder / "server.key"
        if not _still_good(cert_file, key_file, ca, hosts, at):
            key, leaf = _leaf(ca_key, ca, hosts, at)
            _write_private(key_file, _key_pem(key))
            _write(cert_file, leaf.public_bytes(serialization.Encoding.PEM))
    except OSError as error:
        raise LedgerTrouble(
            f"the certificates cannot be kept ({error.strerror})",
            where=str(folder),
            do="Set FINDHOLD_HOME to a folder you may write to",
        ) from error
    except ValueError as error:
        raise LedgerTrouble(
            "the certificates cannot be read", where=str(folder), do="Move the folder away; new ones are made then"
        ) from error
    print_ = ca.fingerprint(hashes.SHA256()).hex().upper()
    return Certified(
        key_file=key_file,
        cert_file=cert_file,
        ca_pem=ca.public_bytes(serialization.Encoding.PEM),
        fingerprint=":".join(print_[place : place + 2] for place in range(0, len(print_), 2)),
    )


def _authority(folder: Path, at: datetime) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
    """The authority kept in the folder, or a new one when there is none or it has ended."""
    key_file, cert_file = folder / "authority.key", folder / "authority.pem"
    if key_file.is_file() and cert_file.is_file():
        cert = x509.load_pem_x509_certificate(cert_file.read_bytes())
        key = serialization.load_pem_private_key(key_file.read_bytes(), None)
        if isinstance(key, ec.EllipticCurvePrivateKey) and cert.not_valid_after_utc - at > timedelta(days=LEAF_DAYS):
            return key, cert
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, "findhold"),
            x509.NameAttribute(NameOID.COMMON_NAME, f"findhold of this unit {secrets.token_hex(2)}"),
        ]
    )
    local = [x509.IPAddress(ipaddress.ip_network(net)) for net in LOCAL_NETS]
    cert = (
        _begun(name, name, key.public_key(), at, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(
            x509.NameConstraints(
                permitted_subtrees=[*local, x509.DNSName("localhost"), x509.DNSName("local")], excluded_subtrees=None
            ),
            critical=True,
        )
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write_private(key_file, _key_pem(key))
    _write(cert_file, cert.public_bytes(serialization.Encoding.PEM))
    return key, cert


def _leaf(
    ca_key: ec.EllipticCurvePrivateKey, ca: x509.Certificate, hosts: tuple[str, ...], at: datetime
) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "findhold")])
    cert = (
        _begun(subject, ca.subject, key.public_key(), at, LEAF_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_general(host) for host in hosts]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(ca_key.public_key()),
            critical=False,
        )
        .sign(ca_key, hashes.SHA256())
    )
    return key, cert


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, at: datetime, days: int
) -> x509.CertificateBuilder:
    # A clock of a tablet that is a little behind must not find the certificate of the future.
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - timedelta(days=1))
        .not_valid_after(at + timedelta(days=days))
    )


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs,
        crl_sign=signs,
        encipher_only=False,
        decipher_only=False,
    )


def _general(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(host.strip("[]")))
    except ValueError:
        return x509.DNSName(host)


def _still_good(cert_file: Path, key_file: Path, ca: x509.Certificate, hosts: tuple[str, ...], at: datetime) -> bool:
    """True when the certificate there is this authority's, covers these names and does not end soon."""
    if not (cert_file.is_file() and key_file.is_file()):
        return False
    cert = x509.load_pem_x509_certificate(cert_file.read_bytes())
    names = cert.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    ours = cert.issuer == ca.subject and set(names) >= {_general(host) for host in hosts}
    return ours and cert.not_valid_after_utc - at > timedelta(days=RENEW_DAYS)


def _key_pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write_private(file: Path, data: bytes) -> None:
    """A file that only its owner can read, from its first byte on."""
    building = file.with_name(f".{file.name}.{secrets.token_hex(4)}")
    with os.fdopen(os.open(building, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(data)
    building.replace(file)


def _write(file: Path, data: bytes) -> None:
    building = file.with_name(f".{file.name}.{secrets.token_hex(4)}")
    building.write_bytes(data)
    building.replace(file)
