"""A certificate of this laptop's own, made when the coach asks for it, so that phones may speak to it in secret.

Nobody vouches for it: a phone warns once, and a person compares the fingerprint on both screens. It names the
addresses the laptop has at that moment, holds for 397 days (longer ones are refused by some phones, as people in
the trade say; no source), and may sign nothing else. The private key lies in the data folder, readable for its
owner alone.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

DAYS = 397
OWNER_ONLY = 0o600


@dataclass(frozen=True, slots=True)
class Certificate:
    """Where certificate and key lie, what the certificate says of itself. `fingerprint`: SHA-256, pairs of signs."""

    certificate_file: Path
    key_file: Path
    fingerprint: str
    names: tuple[str, ...]
    until: datetime

    def covers(self, name: str) -> bool:
        """Whether it names that address."""
        return name in self.names


def files_in(folder: Path) -> tuple[Path, Path]:
    """Where certificate and key lie in a data folder."""
    return folder / "phones-certificate.pem", folder / "phones-key.pem"


def read(folder: Path, now: datetime) -> Certificate | None:
    """The certificate of a data folder; None when there is none or it has run out."""
    certificate_file, key_file = files_in(folder)
    try:
        found = x509.load_pem_x509_certificate(certificate_file.read_bytes())
    except (OSError, ValueError):
        return None
    if not key_file.is_file() or found.not_valid_after_utc <= now:
        return None
    alternative = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    names = [str(one) for one in alternative.get_values_for_type(x509.IPAddress)]
    names += alternative.get_values_for_type(x509.DNSName)
    mark = found.fingerprint(hashes.SHA256())
    shown = " ".join(mark.hex()[at : at + 4].upper() for at in range(0, 64, 4))
    return Certificate(certificate_file, key_file, shown, tuple(names), found.not_valid_after_utc)


def make(folder: Path, names: Sequence[str], now: datetime) -> Certificate:
    """A new certificate for these addresses of the laptop; an older one is replaced."""
    certificate_file, key_file = files_in(folder)
    key = ec.generate_private_key(ec.SECP256R1())
    made = _signed(key, names, now)
    pem = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    _write(key_file, pem)
    _write(certificate_file, made.public_bytes(serialization.Encoding.PEM))
    found = read(folder, now)
    assert found is not None
    return found


def remove(folder: Path) -> None:
    """Back to plain http: certificate and key are deleted."""
    for file in files_in(folder):
        with suppress(FileNotFoundError):
            file.unlink()


def _signed(key: ec.EllipticCurvePrivateKey, names: Sequence[str], now: datetime) -> x509.Certificate:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Recoup on this laptop")])
    builder = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=DAYS))
        .add_extension(x509.SubjectAlternativeName([_named(one) for one in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    )
    return builder.sign(key, hashes.SHA256())


def _named(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _write(file: Path, content: bytes) -> None:
    """Written beside and moved into place; nobody else can ever read it, not even for a moment."""
    beside = file.with_suffix(".new")
    beside.unlink(missing_ok=True)
    number = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_ONLY)
    with os.fdopen(number, "wb") as opened:
        opened.write(content)
    beside.replace(file)
