"""https as a device meets it: the standard library's ssl, which is OpenSSL, checks chain, names and constraints."""

from __future__ import annotations

import http.client
import shutil
import ssl
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtensionOID

from app.errors import Unavailable
from app.trust import tls
from app.trust.addresses import is_ours
from tests.commands.served import command, free_port, serving

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def ask(port: int, path: str, trusting: ssl.SSLContext, **headers: str) -> http.client.HTTPResponse:
    connection = http.client.HTTPSConnection("127.0.0.1", port, context=trusting, timeout=20)
    connection.request("GET", path, headers=headers)
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer


def test_a_served_shop_speaks_tls_to_who_trusts_its_authority(tmp_path: Path, sqlite_templates: tuple[Path, Path, object]) -> None:
    shutil.copy(sqlite_templates[1], tmp_path / "tagstrip.db")
    port = free_port()
    with serving(tmp_path, port, "--tls") as process:
        trusting = ssl.create_default_context(cafile=str(tmp_path / "tls/ca.pem"))
        answer = ask(port, "/people/sign-in", trusting)
        assert answer.status == 200 and "max-age=31536000" in (answer.getheader("Strict-Transport-Security") or "")
        assert all("Secure" in cookie and "HttpOnly" in cookie for cookie in answer.headers.get_all("Set-Cookie") or ["none"])
        assert ask(port, "/ca.crt", trusting).getheader("Content-Type") == "application/x-x509-ca-cert"
        assert ask(port, "/trust", trusting).status == 200
        old = ssl.create_default_context(cafile=str(tmp_path / "tls/ca.pem"))
        old.maximum_version = ssl.TLSVersion.TLSv1_2
        assert ask(port, "/healthz", old).status == 200
        assert ask(port, "/healthz", trusting, Host="elsewhere.example").status == 421
        with pytest.raises(ssl.SSLCertVerificationError):
            ask(port, "/healthz", ssl.create_default_context())
        second = command("serve", "--data", str(tmp_path), "--port", str(free_port()))
        assert second.returncode == 1 and f"in use by process {process.pid}" in second.stderr
    assert [oct(path.stat().st_mode & 0o777) for path in (tmp_path / "tls").glob("*.key")] == ["0o600", "0o600"]
    assert process.stderr is not None and process.returncode in (0, -15)


def leaf(data: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate((data / "tls/server.pem").read_bytes())


def test_a_certificate_lasts_no_longer_than_browsers_take_and_is_renewed_in_its_last_third(tmp_path: Path) -> None:
    tls.prepare(tmp_path, "127.0.0.1", now=NOW)
    first = leaf(tmp_path)
    assert first.not_valid_after_utc - first.not_valid_before_utc <= timedelta(days=397)
    for days, same in ((264, True), (265, False)):
        tls.prepare(tmp_path, "127.0.0.1", now=NOW + timedelta(days=days))
        assert (leaf(tmp_path).serial_number == first.serial_number) == same, days


def test_a_new_address_makes_a_new_certificate_under_the_same_authority(tmp_path: Path) -> None:
    tls.prepare(tmp_path, "192.168.7.20", now=NOW)
    authority, first = tls.authority_der(tmp_path), leaf(tmp_path)
    tls.prepare(tmp_path, "192.168.7.21", ["bench.lan"], now=NOW)
    named = leaf(tmp_path).extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert "192.168.7.21" in map(str, named.get_values_for_type(x509.IPAddress))
    assert "bench.lan" in named.get_values_for_type(x509.DNSName)
    assert any(name.endswith(".local") for name in named.get_values_for_type(x509.DNSName))
    assert leaf(tmp_path).serial_number != first.serial_number and tls.authority_der(tmp_path) == authority


def test_the_authority_cannot_speak_for_the_wide_internet(tmp_path: Path) -> None:
    tls.prepare(tmp_path, "127.0.0.1", now=NOW)
    ca = x509.load_pem_x509_certificate((tmp_path / "tls/ca.pem").read_bytes())
    assert ca.extensions.get_extension_for_oid(ExtensionOID.NAME_CONSTRAINTS).critical
    with pytest.raises(Unavailable, match="does not cover shop.example"):
        tls.prepare(tmp_path, "127.0.0.1", ["shop.example"], now=NOW)


@pytest.mark.parametrize(("asked", "ours"), [
    ("127.0.0.1:8077", True), ("[::1]:8077", True), ("localhost:8077", True), ("192.168.1.5", True), ("bench.local:8077", True),
    ("Shop.Example", True), ("evil.example", False), ("127.0.0.1.evil.example:8077", False), ("local", False), ("[evil]", False),
])
def test_only_names_of_this_network_are_answered(asked: str, ours: bool) -> None:
    assert is_ours(asked, ["shop.example"]) == ours


@pytest.mark.parametrize("asked", ["127.0.0.1:1@elsewhere.example", "127.0.0.1:80:elsewhere.example", "[::1]elsewhere.example",
                                   "localhost/elsewhere.example", "localhost?x", "bench.local elsewhere.example", "127.0.0.1:x"])
def test_a_host_that_is_more_than_a_name_and_a_port_is_not_answered(asked: str) -> None:
    """Links on pages and labels are made of it (RFC 9110, 7.2: uri-host and port)."""
    assert not is_ours(asked, ["elsewhere.example"])
