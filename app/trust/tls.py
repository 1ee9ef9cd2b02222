"""https on the shop's own network: an authority of this shop, and a certificate that it signs for this machine.

The authority may only speak for private addresses and local names (RFC 5280, 4.2.1.10), so that a device which trusts it
trusts it for the shop and nothing else. The certificate lasts at most 397 days, the longest that browsers take
(CA/Browser Forum Baseline Requirements 6.3.2, from memory), and is made anew at a start when a third of that is left or
when the machine's addresses have changed.
"""

from __future__ import annotations

import hashlib
import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Network, IPv6Network, ip_address
from pathlib import Path
from typing import TYPE_CHECKING

from app import clock
from app.config import write_whole
from app.errors import Unavailable
from app.trust import addresses

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey as Key

FOLDER = "tls"
CA_DAYS = 3650
LEAF_DAYS = 397
EARLIER = timedelta(hours=1)  # clocks of tablets may be a little behind


@dataclass(frozen=True)
class Files:
    """What the server needs: certificate chain and key, both PEM."""

    certificate: Path
    key: Path


def prepare(data: Path, host: str, names: Sequence[str] = (), *, now: datetime | None = None) -> Files:
    """Certificate and key for the addresses that `host` stands for and these names, made or renewed as needed."""
    moment = now or clock.now()
    folder = data / FOLDER
    folder.mkdir(mode=0o700, exist_ok=True)
    ca_key, ca = _authority(folder, moment, names)
    asked = addresses.of(host, names)
    files = Files(folder / "server.pem", folder / "server.key")
    if not _good(files, ca, asked, moment):
        _sign(files, ca_key, ca, asked, moment)
    return files


def authority_der(data: Path) -> bytes | None:
    """The authority's certificate as devices take it; None if this shop has none."""
    path = data / FOLDER / "ca.pem"
    return ssl.PEM_cert_to_DER_cert(path.read_text(encoding="ascii")) if path.is_file() else None


def fingerprint(der: bytes) -> str:
    """SHA-256 in pairs, as devices show it."""
    told = hashlib.sha256(der).hexdigest().upper()
    return ":".join(told[i:i + 2] for i in range(0, len(told), 2))


def qr(told: str) -> list[list[bool]]:
    """A QR code (ISO/IEC 18004) of a fingerprint: its modules row by row, dark ones True, with the quiet zone of four around it."""
    import segno

    return [[bool(one) for one in row] for row in segno.make(told, error="m", micro=False).matrix_iter(scale=1, border=4)]


def short(data: Path) -> str:
    """The last four pairs of the authority's fingerprint, for the console."""
    return fingerprint(authority_der(data) or b"")[-11:]


def _authority(folder: Path, now: datetime, names: Sequence[str]) -> tuple[Key, x509.Certificate]:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key_path, path = folder / "ca.key", folder / "ca.pem"
    if path.is_file() and key_path.is_file():
        found = x509.load_pem_x509_certificate(path.read_bytes())
        if found.not_valid_after_utc - now > timedelta(days=LEAF_DAYS):
            return _read_key(key_path), found
    key = _new_key()
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Tagstrip of {addresses.hostname()} {now:%Y-%m-%d}")])
    only = x509.NameConstraints([*(x509.IPAddress(net) for net in addresses.PRIVATE),
                                 *(x509.DNSName(name) for name in _own([*addresses.LOCAL, addresses.hostname(), *names]))], None)
    made = (_begun(who, who, key, now, CA_DAYS)
            .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(_usage(signs=True), critical=True)
            # Of an authority it bounds what it may sign for: servers, neither people's mail nor programs (RFC 5280, 4.2.1.12).
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(only, critical=True)
            .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
            .sign(key, hashes.SHA256()))
    _write_key(key_path, key)
    write_whole(path, _pem(made))
    return key, made


def _own(names: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(name for name in names if not addresses.is_address(name)))


def _good(files: Files, ca: x509.Certificate, asked: addresses.Asked, now: datetime) -> bool:
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature

    try:
        leaf = x509.load_pem_x509_certificate(files.certificate.read_bytes())
        leaf.verify_directly_issued_by(ca)
        same_key = _read_key(files.key).public_key() == leaf.public_key()
    except (OSError, ValueError, TypeError, InvalidSignature):
        return False
    life = leaf.not_valid_after_utc - leaf.not_valid_before_utc
    if not same_key or now < leaf.not_valid_before_utc or leaf.not_valid_after_utc - now < life / 3:
        return False
    stands = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return set(asked.names) <= set(stands.get_values_for_type(x509.DNSName)) and \
        {ip_address(one) for one in asked.ips} <= set(stands.get_values_for_type(x509.IPAddress))


def _sign(files: Files, ca_key: Key, ca: x509.Certificate, asked: addresses.Asked, now: datetime) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    _refuse_foreign(ca, asked)
    key = _new_key()
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, asked.names[0][:64])])
    named = x509.SubjectAlternativeName([*(x509.DNSName(one) for one in asked.names),
                                         *(x509.IPAddress(ip_address(one)) for one in asked.ips)])
    made = (_begun(who, ca.subject, key, now, LEAF_DAYS)
            .add_extension(named, critical=False)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(signs=False), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
            .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(ca_key.public_key()), critical=False)
            .sign(ca_key, hashes.SHA256()))
    _write_key(files.key, key)
    write_whole(files.certificate, _pem(made) + _pem(ca))


def _refuse_foreign(ca: x509.Certificate, asked: addresses.Asked) -> None:
    from cryptography import x509

    may = ca.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    nets = [one.value for one in may if isinstance(one, x509.IPAddress)
            and isinstance(one.value, IPv4Network | IPv6Network)]
    ends = [one.value for one in may if isinstance(one, x509.DNSName)]
    foreign = [one for one in asked.ips if not any(ip_address(one) in net for net in nets)]
    foreign += [one for one in asked.names if not any(one == end or one.endswith("." + end) for end in ends)]
    if foreign:
        raise Unavailable(f"The shop's certificate does not cover {foreign[0]}. Stop the server, move the folder "
                          f"{FOLDER} of the data folder away, start again, and set up each device again at /trust.")


def _begun(who: x509.Name, by: x509.Name, key: Key, now: datetime, days: int) -> x509.CertificateBuilder:
    from cryptography import x509

    return (x509.CertificateBuilder().subject_name(who).issuer_name(by).public_key(key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(now - EARLIER).not_valid_after(now - EARLIER + timedelta(days=days)))


def _usage(*, signs: bool) -> x509.KeyUsage:
    from cryptography import x509

    return x509.KeyUsage(digital_signature=not signs, content_commitment=False, key_encipherment=False,
                         data_encipherment=False, key_agreement=False, key_cert_sign=signs, crl_sign=False,
                         encipher_only=False, decipher_only=False)


def _new_key() -> Key:
    from cryptography.hazmat.primitives.asymmetric import ec

    return ec.generate_private_key(ec.SECP256R1())


def _read_key(path: Path) -> Key:
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    found = load_pem_private_key(path.read_bytes(), None)
    if not isinstance(found, ec.EllipticCurvePrivateKey):
        raise ValueError(f"{path} is not a key of ours")
    return found


def _write_key(path: Path, key: Key) -> None:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    write_whole(path, key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()).decode("ascii"))


def _pem(made: x509.Certificate) -> str:
    from cryptography.hazmat.primitives.serialization import Encoding

    return made.public_bytes(Encoding.PEM).decode("ascii")
