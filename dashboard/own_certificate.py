"""A certificate of our own making, for a page that is opened from a tablet on the same network.

No authority vouches for it: the browser warns once, and shows a fingerprint to compare with the one at the terminal. A
rig that stays should have a certificate of the shop's authority.
"""

import ipaddress
import logging
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from dashboard.own_files import read_own

logger = logging.getLogger(__name__)

LIFETIME = timedelta(days=365)
_RENEWED_BEFORE_END = timedelta(days=30)


def own_certificate(directory: Path, host: str) -> tuple[Path, Path]:
    """Give the paths of certificate and key for an address or a host name; made once and kept.

    The key can be read by our own user only.

    Raises:
        OSError: they cannot be kept there.

    """
    name = "".join(letter if letter.isalnum() or letter in ".-" else "_" for letter in host)
    certificate, key = directory / f"{name}.cert.pem", directory / f"{name}.key.pem"
    if not (key.exists() and certificate.exists() and _lasts(certificate)):
        directory.mkdir(parents=True, exist_ok=True)
        _make(certificate, key, host)
    return certificate, key


def fingerprint(certificate: Path) -> str:
    """Give the SHA-256 fingerprint, as browsers show it."""
    return _read(certificate).fingerprint(hashes.SHA256()).hex(":").upper()


def _read(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(read_own(path))


def _lasts(path: Path) -> bool:
    try:
        return _read(path).not_valid_after_utc - _RENEWED_BEFORE_END > datetime.now(UTC)
    except (OSError, ValueError) as error:
        logger.warning("%s is no certificate: %s. Another is made, of which the browser warns anew", path, error)
        return False


def _make(certificate: Path, key: Path, host: str) -> None:
    private = ec.generate_private_key(ec.SECP256R1())
    named = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Dewline bench")])
    now = datetime.now(UTC)
    signed = (
        x509.CertificateBuilder()
        .subject_name(named)
        .issuer_name(named)
        .public_key(private.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + LIFETIME)
        .add_extension(x509.SubjectAlternativeName([_alternative_name(host)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .sign(private, hashes.SHA256())
    )
    plain = serialization.NoEncryption()
    pem = private.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, plain)
    key.unlink(missing_ok=True)
    with os.fdopen(os.open(key, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(pem)
    certificate.unlink(missing_ok=True)
    certificate.write_bytes(signed.public_bytes(serialization.Encoding.PEM))


def _alternative_name(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        return x509.DNSName(host)
