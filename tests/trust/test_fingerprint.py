"""What a device is compared with before it trusts the shop: the fingerprint, as words and QR code; and what it then trusts."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID
from flask import Flask

from app.trust import tls
from tests.conftest import NOW
from tests.pages import HTML, PageClient

FINDER = ["#######", "#.....#", "#.###.#", "#.###.#", "#.###.#", "#.....#", "#######"]  # ISO/IEC 18004, 6.3.3 (from memory)


def authority(data: Path) -> x509.Certificate:
    tls.prepare(data, "127.0.0.1", now=NOW)
    return x509.load_pem_x509_certificate((data / "tls/ca.pem").read_bytes())


def test_the_page_says_the_fingerprint_as_openssl_does(app: Flask, stranger: PageClient) -> None:
    tls.prepare(app.config["DATA"], "127.0.0.1")
    told = subprocess.run(["openssl", "x509", "-in", str(app.config["DATA"] / "tls/ca.pem"), "-noout", "-fingerprint", "-sha256"],
                          capture_output=True, text=True, check=True).stdout.strip().partition("=")[2]
    page = stranger.get("/trust")
    groups = ["".join(one.itertext()) for one in page.root.iter(HTML + "code")]
    assert ":".join(groups) == told and [len(one) for one in groups] == [11] * 8


def test_the_qr_code_is_drawn_whole_on_its_own_ground(app: Flask, stranger: PageClient) -> None:
    tls.prepare(app.config["DATA"], "127.0.0.1")
    told = tls.fingerprint(tls.authority_der(app.config["DATA"]) or b"")
    modules = tls.qr(told)
    size = len(modules)
    page = stranger.get("/trust").text
    drawn = {(int(x), int(y)) for x, y in re.findall(r"M(\d+) (\d+)h1v1h-1z", page)}
    assert drawn == {(x, y) for y, row in enumerate(modules) for x, dark in enumerate(row) if dark}
    assert f'class="qr-light" width="{size}" height="{size}"' in page
    quiet = {(x, y) for x, y in drawn if min(x, y) < 4 or max(x, y) >= size - 4}
    assert not quiet  # four modules of quiet zone on every side (ISO/IEC 18004)
    for left, top in ((4, 4), (size - 11, 4), (4, size - 11)):
        assert ["".join("#" if (left + x, top + y) in drawn else "." for x in range(7)) for y in range(7)] == FINDER


def test_the_authority_signs_for_servers_of_this_shop_and_nothing_else(tmp_path: Path) -> None:
    """RFC 5280: 4.2.1.3 (key usage), 4.2.1.9 (path length), 4.2.1.12 (extended key usage), 4.2.1.10 (name constraints)."""
    ca = authority(tmp_path)

    def of(kind: type[x509.ExtensionType]) -> x509.Extension[x509.ExtensionType]:
        return ca.extensions.get_extension_for_class(kind)

    basic, usage = of(x509.BasicConstraints), of(x509.KeyUsage)
    assert basic.critical and basic.value == x509.BasicConstraints(ca=True, path_length=0)
    assert usage.critical and isinstance(usage.value, x509.KeyUsage)
    assert usage.value.key_cert_sign and not (usage.value.digital_signature or usage.value.crl_sign or usage.value.key_agreement)
    assert list(of(x509.ExtendedKeyUsage).value) == [ExtendedKeyUsageOID.SERVER_AUTH]  # type: ignore[call-overload]
    assert of(x509.NameConstraints).critical


def test_openssl_takes_the_server_for_a_server_and_for_nothing_else(tmp_path: Path) -> None:
    authority(tmp_path)
    ca, leaf = tmp_path / "tls/ca.pem", tmp_path / "tls/server.pem"

    def verify(purpose: str) -> int:
        at = str(int(NOW.timestamp()))
        return subprocess.run(["openssl", "verify", "-x509_strict", "-attime", at, "-purpose", purpose, "-CAfile", ca, leaf],
                              capture_output=True, check=False).returncode

    assert verify("sslserver") == 0
    assert verify("sslclient") != 0 and verify("smimesign") != 0
