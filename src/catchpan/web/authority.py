"""Certificates of our own, so that a phone may keep the app: browsers do that only over HTTPS.

An authority is made once and kept in the program's folder. It can vouch for addresses of private
networks and for names that end in ``.local`` only (RFC 5280, name constraints; RFC 1918, RFC 3927
and RFC 6762 say which those are), so that a phone that trusts it trusts it for nothing else. With
it a certificate for this machine is made at every start.
"""

from __future__ import annotations

import ipaddress
import os
import socket
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from catchpan.store.errors import StorageError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

PRIVATE: Final = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8")
LOCAL_NAMES: Final = ("local", "localhost")
AUTHORITY_DAYS: Final = 3650
SERVER_DAYS: Final = 365
"""Below the 398 days that browsers accept (CA/Browser Forum baseline, from memory)."""

EARLIER: Final = timedelta(days=1)
"""How long before now a certificate begins, for phones whose clocks are behind."""


@dataclass(frozen=True)
class Authority:
    """What vouches for this machine: its certificate and key."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def pem(self) -> bytes:
        """The certificate as a phone installs it."""
        return self.certificate.public_bytes(serialization.Encoding.PEM)


def kept_authority(folder: Path, now_utc: datetime) -> Authority:
    """Return the authority kept in a folder; one is made where there is none or it has run out.

    Raises
    ------
    StorageError
        When it cannot be kept.
    """
    path = folder / "authority.pem"
    try:
        if path.is_file():
            found = _read(path.read_bytes())
            if found is not None and found.certificate.not_valid_after_utc > now_utc + 2 * EARLIER:
                return found
        made = _made(now_utc)
        write_secret(path, made.pem + _key_text(made.key))
    except OSError as error:
        raise StorageError(path, f"cannot keep it: {error.strerror}", "make it writable") from error
    return made


def is_private(name: str) -> bool:
    """Whether an address or a name is one the authority may vouch for."""
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return name in LOCAL_NAMES or name.endswith(tuple(f".{n}" for n in LOCAL_NAMES))
    return any(address in ipaddress.ip_network(net) for net in PRIVATE)


def own_names(address: str) -> list[str]:
    """Return this machine's addresses and names that the authority may vouch for."""
    host = socket.gethostname().partition(".")[0].lower()
    names = [address, "127.0.0.1", "localhost", *([f"{host}.local"] if host else [])]
    return [name for name in dict.fromkeys(names) if is_private(name)]


def write_server_files(
    folder: Path, authority: Authority, names: Iterable[str], now_utc: datetime
) -> tuple[Path, Path]:
    """Write a certificate for this machine and its key; return both files."""
    key = ec.generate_private_key(ec.SECP256R1())
    builder = (
        _begun("catchpan", authority.certificate.subject, key, now_utc, SERVER_DAYS)
        .add_extension(x509.SubjectAlternativeName([_name(n) for n in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key()),
            critical=False,
        )
    )
    made = builder.sign(authority.key, hashes.SHA256())
    certificate_file, key_file = folder / "server.pem", folder / "server.key"
    try:
        chain = made.public_bytes(serialization.Encoding.PEM) + authority.pem
        write_secret(certificate_file, chain)
        write_secret(key_file, _key_text(key))
    except OSError as error:
        problem = f"cannot be written: {error.strerror}"
        raise StorageError(key_file, problem, "make the folder writable") from error
    return certificate_file, key_file


def write_secret(path: Path, content: bytes) -> None:
    """Write a file that only we can read, whole or not at all."""
    part = path.with_name(f"{path.name}.part")
    part.unlink(missing_ok=True)
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
    part.replace(path)


def _begun(
    title: str, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now_utc: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, title)]))
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now_utc - EARLIER)
        .not_valid_after(now_utc + timedelta(days=days))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _made(now_utc: datetime) -> Authority:
    key = ec.generate_private_key(ec.SECP256R1())
    title = f"catchpan on {socket.gethostname()[:40]}, private networks only"
    itself = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, title)])
    allowed = [_name(name, within=True) for name in (*PRIVATE, *LOCAL_NAMES)]
    builder = (
        _begun(title, itself, key, now_utc, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.NameConstraints(allowed, excluded_subtrees=None), critical=True)
        .add_extension(_signs_only(), critical=True)
    )
    return Authority(builder.sign(key, hashes.SHA256()), key)


def _signs_only() -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=True,
        key_cert_sign=True,
        crl_sign=True,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _name(name: str, *, within: bool = False) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_network(name) if within else ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _read(text: bytes) -> Authority | None:
    try:
        certificate = x509.load_pem_x509_certificate(text)
        key = serialization.load_pem_private_key(text, None)
    except ValueError:
        return None
    return Authority(certificate, key) if isinstance(key, ec.EllipticCurvePrivateKey) else None


def _key_text(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
