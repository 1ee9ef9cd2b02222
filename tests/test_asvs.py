"""The table of the OWASP ASVS 5.0.0 rows (tests/ASVS.md) is whole, each row with a test or a reason; and small checks it names.

Numbers and levels are those of the standard (5.0.0, en, read as the CSV of its repository): 70 rows of level 1, 183 of level 2.
"""

from __future__ import annotations

import ast
import functools
import re
from collections import Counter
from pathlib import Path

from flask import Flask

from app import config
from app.access import secrets as hashing
from tests.pages import PageClient
from tests.tables import ROOT, holds, rows

TABLE = ROOT / "tests" / "ASVS.md"
ROW = r"\d+\.\d+\.\d+"
# Rows of levels 1 and 2 in each chapter.
CHAPTERS = {1: 27, 2: 11, 3: 19, 4: 10, 5: 9, 6: 35, 7: 18, 8: 7, 9: 7, 10: 29, 11: 14, 12: 9, 13: 13, 14: 9, 15: 13, 16: 16, 17: 7}


def test_every_row_of_levels_1_and_2_is_there_once() -> None:
    found = rows(TABLE, ROW)
    numbers = [row[0] for row in found]
    assert len(set(numbers)) == len(numbers) == 253
    assert Counter(row[1] for row in found) == {"1": 70, "2": 183}
    assert Counter(int(number.split(".")[0]) for number in numbers) == CHAPTERS


def test_a_row_names_its_test_or_its_reason() -> None:
    for number, _, asks, standing, why in rows(TABLE, ROW):
        assert asks, number
        holds(TABLE, number, standing, why)


@functools.cache
def modules() -> dict[str, ast.Module]:
    """Every module of the program by its path."""
    return {str(path.relative_to(ROOT)): ast.parse(path.read_text(encoding="utf-8"))
            for path in sorted((ROOT / "app").rglob("*.py"))}


def called(tree: ast.Module) -> set[str]:
    """Names of all that is called, dotted as written."""
    return {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}


def imported(tree: ast.Module) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


def test_no_shell_and_no_code_from_text() -> None:
    for path, tree in modules().items():
        assert not called(tree) & {"eval", "exec", "os.system", "os.popen", "subprocess.getoutput", "__import__"}, path
        for node in ast.walk(tree):
            assert not (isinstance(node, ast.keyword) and node.arg == "shell"), path


def test_no_format_string_comes_from_input() -> None:
    """`.format` is called on words of ours alone: literals, module constants, and what the rooms' own lists hold."""
    ours = {f"app/{name}.py" for name in (  # read: what is filled in there is a constant
        "kernel/warm", "documents/papers/findings", "reassembly/planner/acts", "search/queries", "bench/sums/sections/safety",
        "kernel/requests", "launch/system")}
    for path, tree in modules().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in ("format", "format_map"):
                literal = isinstance(node.func.value, ast.Constant) or ast.unparse(node.func.value).startswith("Markup(")
                assert literal or path in ours, path


def test_nothing_unsafe_is_made_into_objects() -> None:
    for path, tree in modules().items():
        assert not imported(tree) & {"pickle", "marshal", "shelve", "yaml", "dill", "xml.etree.ElementTree", "lxml"}, path


def test_cryptography_is_taken_from_proven_libraries() -> None:
    """Python's hashlib, hmac and secrets, argon2-cffi, cryptography; SHA-256 and nothing weaker, no arithmetic random numbers."""
    allowed_random = {"app/commands/benchmarks/sums.py", "app/commands/benchmarks/memory.py"}
    for path, tree in modules().items():
        weak = {name for name in called(tree) if re.search(r"hashlib\.(md5|sha1|new)$", name)}
        assert not weak, (path, weak)
        assert not imported(tree) & {"Crypto", "nacl", "rsa"}, path
        assert "random" not in imported(tree) or path in allowed_random, path


def test_secrets_come_from_the_systems_generator() -> None:
    assert len(hashing.new_token()) >= 43  # 32 bytes in base64
    assert len({hashing.new_token() for _ in range(1000)}) == 1000
    assert "secrets" in imported(modules()["app/access/secrets.py"])


def test_passwords_are_stored_by_a_slow_function() -> None:
    """Argon2id at or above the floor of the OWASP Password Storage Cheat Sheet (19 MiB, t=2, p=1; from memory)."""
    assert (hashing.TIME_COST, hashing.MEMORY_COST) >= (2, 19 * 1024)
    assert hashing.hash_secret("four plain words here").startswith("$argon2id$")


def test_only_listed_modules_open_connections() -> None:
    """What may speak to a network or start a program; a line here is a line in the table's *Connections*."""
    allowed = {f"app/{name}.py" for name in (
        "commands/benchmarks/start", "commands/benchmarks/memory", "commands/server", "kernel/warm", "trust/addresses",
        "launch/environment", "launch/installer", "launch/run", "launch/start", "launch/system")}
    listed = TABLE.read_text(encoding="utf-8").split("# Connections", 1)[1].split("\n#", 1)[0]
    for path, tree in modules().items():
        opens = imported(tree) & {"socket", "subprocess", "urllib.request", "http.client", "smtplib", "ftplib", "requests", "httpx"}
        assert not opens or path in allowed or f"`{path}`" in listed, (path, opens)


def test_no_answer_is_shared_with_another_origin(owner: PageClient, stranger: PageClient) -> None:
    for client in (owner, stranger):
        for path in ("/", "/people/sign-in", "/healthz", "/static/css/base.css"):
            answer = client.client.get(path, headers={"Origin": "https://elsewhere.example"})
            assert "Access-Control-Allow-Origin" not in answer.headers
            answer.close()


def test_no_page_may_be_framed(owner: PageClient, stranger: PageClient) -> None:
    for client in (owner, stranger):
        for path in ("/", "/people/sign-in", "/nowhere"):
            policy = client.client.get(path).headers["Content-Security-Policy"]
            assert "frame-ancestors 'none'" in policy and "object-src 'none'" in policy and "base-uri 'none'" in policy


def test_every_page_says_its_type_and_charset(owner: PageClient) -> None:
    for path in ("/", "/shop", "/nowhere", "/people"):
        assert owner.client.get(path).headers["Content-Type"] == "text/html; charset=utf-8"


def test_signing_out_is_on_every_page(owner: PageClient) -> None:
    for path in ("/", "/shop", "/people", "/instruments"):
        assert "/people/switch" in {form.get("action") for form in owner.get(path).all("form")}, path


def test_no_debugger_is_served(app: Flask) -> None:
    assert not app.debug and not app.testing or app.config["TESTING"]
    assert "DebuggedApplication" not in str([ast.dump(tree) for tree in modules().values()])
    assert not any("debug=True" in ast.unparse(tree) for tree in modules().values())


def test_trace_is_not_answered(stranger: PageClient) -> None:
    assert stranger.client.open("/people/sign-in", method="TRACE").status_code == 405


def test_keys_are_readable_by_their_owner_only(tmp_path: Path) -> None:
    shop = config.load(tmp_path / "shop")
    assert shop.secret_key and (tmp_path / "shop" / "secret.key").stat().st_mode & 0o077 == 0


def test_no_secret_is_in_an_address(app: Flask) -> None:
    """No form that holds a secret or a person's words is sent by GET, and no route takes a secret as a part of its address."""
    for path in (ROOT / "templates").rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        for form in re.findall(r"<form[^>]*method=[\"']get[\"'][\s\S]*?</form>", text, re.IGNORECASE):
            assert "password" not in form and "pin" not in re.findall(r'name="(\w+)"', form), path
    assert not [rule.rule for rule in app.url_map.iter_rules() if {"token", "password", "pin", "secret"} & set(rule.arguments)]


def test_no_module_writes_keys_from_input_into_objects() -> None:
    """Parsed data is never merged into objects, and no code is made of text."""
    for path in sorted((ROOT / "static" / "js").rglob("*.mjs")):
        text = path.read_text(encoding="utf-8")
        assert "__proto__" not in text and "eval(" not in text and "new Function" not in text, path
        for merged in re.findall(r"Object\.assign\([^,]+, *([^)]+)", text):
            assert merged.startswith("{") and "..." not in merged, (path, merged)  # names that we wrote


def test_what_is_in_the_address_is_no_part_of_a_form(owner: PageClient) -> None:
    """A form is read from the body alone: the same name in the address is passed over."""
    before = owner.get("/shop").fields("/shop")
    owner.client.post("/shop?name=Stolen&name=Again", data={**before, **owner.token()})
    assert "Stolen" not in owner.get("/shop").text
