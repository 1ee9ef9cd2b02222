"""Photos are decoded in a process apart: what hangs, breaks or takes too much is ended there, in words, and the next is read."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from flask import Flask
from PIL import Image

from app.errors import BadInput, Unavailable
from app.personal import locations
from app.photos import picture
from app.photos.apart import Decoder
from app.photos.location import without_location
from app.photos.models import Photo
from app.photos.prepare import prepare
from app.shop.queries import the_shop
from tests.photos.make import photo_bytes, upload

SYDNEY = ZoneInfo("Australia/Sydney")
REPOSITORY = Path(__file__).parents[2]


def decoder(*command: list[str], **bounds: float) -> closing[Decoder]:
    return closing(Decoder(*command, **bounds))  # type: ignore[arg-type]


def pids(found: Decoder) -> set[int]:
    return set(found.warm.pids)


@pytest.fixture(scope="module")
def warm() -> Iterator[Decoder]:
    with decoder() as found:
        yield found


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
def test_it_gives_what_reading_it_here_gives(warm: Decoder, kind: str) -> None:
    data = photo_bytes(kind, orientation=6, taken="2026:03:01 14:30:00")
    assert warm.read(data, zone=SYDNEY) == picture.read(data, zone=SYDNEY)


def test_it_refuses_in_the_same_words_and_stays_warm(warm: Decoder) -> None:
    warm.read(photo_bytes(), zone=SYDNEY)
    before = pids(warm)
    for data in (b"", b"<svg/>", photo_bytes()[:200], photo_bytes("HEIF")[:300]):
        with pytest.raises(BadInput) as there:
            warm.read(data, zone=SYDNEY)
        with pytest.raises(BadInput) as here:
            picture.read(data)
        assert there.value.words == here.value.words
    warm.read(photo_bytes(), zone=SYDNEY)
    assert pids(warm) == before and len(before) == 1, "one by one, one process is enough"


def big(mode: str, side: int, kind: str = "PNG", **how: object) -> bytes:
    out = io.BytesIO()
    Image.new(mode, (side, side), 0x8000 if mode == "I;16" else None).save(out, kind, **how)  # type: ignore[arg-type]
    return out.getvalue()


def test_more_of_the_processor_than_a_photo_may_take_ends_it() -> None:
    heavy = big("RGB", 8000)
    with decoder(processor=0.2) as found:
        found.read(photo_bytes(), zone=SYDNEY)
        before = pids(found)
        with pytest.raises(BadInput, match="too long"):
            found.read(heavy, zone=SYDNEY)
        found.read(photo_bytes(), zone=SYDNEY)
        assert not pids(found) & before, "another process"


def test_hanging_is_ended_by_the_clock() -> None:
    begun = time.monotonic()
    with decoder([sys.executable, "-c", "import time; time.sleep(600)"], longest=0.5) as found:
        with pytest.raises(BadInput, match="too long"):
            found.read(photo_bytes(), zone=SYDNEY)
        assert time.monotonic() - begun < 30


@pytest.mark.parametrize("child", ["raise SystemExit(3)", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"])
def test_breaking_is_said_in_words(child: str) -> None:
    with decoder([sys.executable, "-c", child]) as found, pytest.raises(BadInput, match="cannot be read"):
        found.read(photo_bytes(), zone=SYDNEY)


def test_a_process_that_cannot_be_started_is_no_fault_of_the_photo() -> None:
    with decoder(["/nowhere/python"]) as found:
        for _ in range(3):  # and its place is not lost
            with pytest.raises(Unavailable, match="cannot be started"):
                found.read(photo_bytes(), zone=SYDNEY)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems bound memory otherwise")
def test_more_memory_than_a_photo_may_need_is_refused_in_words(tmp_path: Path) -> None:
    """The heaviest that are taken pass: 64 million see-through pixels. With a quarter of the room they are refused."""
    heavy = big("RGBA", 8000)
    with decoder() as found:
        assert found.read(heavy, zone=SYDNEY).width == 8000
    narrow = ("import app.photos.decode_child as child; child.MOST_MEMORY = 256 * 1024 ** 2; raise SystemExit(child.main())")
    with decoder([sys.executable, "-c", narrow]) as found:
        with pytest.raises(BadInput, match="more memory"):
            found.read(heavy, zone=SYDNEY)
        found.read(photo_bytes(), zone=SYDNEY)


def test_it_is_renewed_after_some_photos() -> None:
    with decoder(photos=2) as found:
        seen = []
        for _ in range(3):
            found.read(photo_bytes(), zone=SYDNEY)
            seen.append(pids(found))
        assert len(seen[0]) == len(seen[1]) == 1 and not seen[0] & seen[1] and seen[2] == seen[1], "the next one is warm already"
        assert all(_gone(pid) for pid in seen[0])


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
def test_it_is_decoded_by_the_program_that_was_there_at_the_start(tmp_path: Path) -> None:
    """A tree that changes under a running server, as by an update: a process that is started later is of the old program."""
    shutil.copytree(REPOSITORY / "app", tmp_path / "app", ignore=shutil.ignore_patterns("__pycache__"))
    code = ("import pathlib, sys; from datetime import UTC; from app.photos import apart; apart.keep_program(); "
            "[one.write_text('raise SystemExit(9)') for one in pathlib.Path('app').rglob('*.py')]; "
            "print(apart.read(sys.stdin.buffer.read(), zone=UTC).width)")
    read = subprocess.run([sys.executable, "-c", code], input=photo_bytes(), capture_output=True, cwd=tmp_path, check=False)
    assert read.stdout == b"64\n", read.stderr.decode()


def _gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return "Z" in Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] if Path(f"/proc/{pid}").exists() else True


def _within(seconds: float, what: Callable[[], bool]) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.05)
    return what()


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
def test_none_is_left_when_its_server_is_killed() -> None:
    code = ("import sys; sys.path.insert(0, '.'); from datetime import UTC; from app.photos import apart; "
            "from tests.photos.make import photo_bytes; apart.read(photo_bytes(), zone=UTC); "
            "print(*apart.shared.warm.pids, flush=True); import time; time.sleep(600)")
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, cwd=REPOSITORY) as server:
        assert server.stdout is not None
        child = int(server.stdout.readline())
        assert not _gone(child)
        server.kill()
    assert _within(20, lambda: _gone(child))


@pytest.mark.parametrize("strip", [False, True])
def test_photos_are_taken_in_there(context: Flask, monkeypatch: pytest.MonkeyPatch, strip: bool) -> None:
    """The server's own process decodes none, nor does it look for a location in one."""
    the_shop().strip_location = strip
    kept = photo_bytes(gps=True)
    monkeypatch.setattr(Image, "open", lambda *_given, **_more: pytest.fail("decoded in the server's own process"))
    found = prepare(upload(kept))
    assert found.width == 64 and found.without_location is strip
    assert locations.clean([Photo(id=7, sha256=found.sha256)])[0].wrong == ""


def test_a_location_is_looked_for_and_cut_out_there(warm: Decoder) -> None:
    noted = photo_bytes(gps=True)
    assert warm.read(noted, zone=SYDNEY).located and not warm.read(photo_bytes(), zone=SYDNEY).located
    assert warm.clean(noted) == without_location(noted)
    with pytest.raises(BadInput, match="Set the camera to JPEG"):
        warm.clean(noted[:200])


@pytest.mark.skipif(sys.platform != "linux", reason="other systems bound memory otherwise")
def test_the_heaviest_that_are_taken_can_be_cleaned(warm: Decoder) -> None:
    """64 million see-through pixels, in the memory that one photo may need."""
    heavy = big("RGBA", 8000)
    assert warm.clean(heavy) == heavy
