"""Decoding: upright once, whole or not at all, limits before decoding, nothing of the metadata in a copy."""

from __future__ import annotations

import io
import resource
import struct
import time
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from app.errors import BadInput
from app.photos.kinds import Kind, kind_of, scans_of
from app.photos.picture import MOST_BYTES, MOST_SCANS, THUMB_PX, WEB_PX, read
from tests.photos.make import CORNERS, bare_png, corner_of, photo_bytes, upright

KINDS = {"JPEG": Kind.JPEG, "PNG": Kind.PNG, "WEBP": Kind.WEBP, "HEIF": Kind.HEIC, "AVIF": Kind.AVIF}


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", KINDS)
def test_each_orientation_comes_out_upright_once(kind: str, orientation: int) -> None:
    """EXIF 2.32 (CIPA DC-008) table 6; for HEIC the turn of ISO/IEC 23008-12 that the decoder applies itself."""
    found = read(photo_bytes(kind, orientation=orientation))
    assert (found.kind, found.width, found.height) == (KINDS[kind], 64, 48)
    for copy in (found.web, found.thumb):
        seen = Image.open(io.BytesIO(copy))
        assert seen.size == (64, 48)
        assert {words: corner_of(seen, words) for words in CORNERS} == {words: words for words in CORNERS}


@pytest.mark.parametrize("kind", KINDS)
def test_cut_short_anywhere_is_refused(kind: str) -> None:
    data = photo_bytes(kind, image=Image.effect_noise((64, 48), 60).convert("RGB"))
    offsets = {max(1, len(data) * step // 41) for step in range(1, 41)} | {len(data) - 1}
    for offset in offsets:
        with pytest.raises(BadInput):
            read(data[:offset])
    assert len(offsets) >= 40
    assert read(data).width == 64


def test_large_photo_is_shrunk_and_cut_short_still_refused() -> None:
    image = Image.effect_noise((2400, 1800), 40).convert("RGB")
    data = photo_bytes(image=image, orientation=6)
    found = read(data)
    assert (found.width, found.height) == (2400, 1800)
    assert Image.open(io.BytesIO(found.web)).size == (WEB_PX, 1200)
    assert Image.open(io.BytesIO(found.thumb)).size == (THUMB_PX, 240)
    with pytest.raises(BadInput, match="incomplete"):
        read(data[: len(data) * 9 // 10])


@pytest.mark.parametrize("kind", KINDS)
def test_no_copy_tells_where_it_was_taken(kind: str) -> None:
    data = photo_bytes(kind, gps=True)
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825), "the fixture has a place"
    found = read(data)
    for copy in (found.web, found.thumb):
        assert b"Exif" not in copy and b"Kestermark" not in copy
        assert not Image.open(io.BytesIO(copy)).getexif()


@pytest.mark.parametrize(("wide", "high"), [(12_000, 12_000), (20_000, 20_000), (8_000, 8_001)])
def test_pixel_bomb_is_refused_before_decoding(wide: int, high: int) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(BadInput, match="64 million pixels"):
        read(bare_png(wide, high))
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50 * 1024, "kilobytes of the process's peak"


def test_heic_that_claims_too_much_is_refused_before_decoding() -> None:
    """Width and height from the image spatial extents property, ISO/IEC 23008-12, 6.5.3."""
    data = bytearray(photo_bytes("HEIF"))
    at = data.index(b"ispe") + 8
    data[at:at + 8] = struct.pack(">II", 20_000, 20_000)
    with pytest.raises(BadInput):
        read(bytes(data))


@pytest.mark.parametrize("size", [(60_000, 1), (1, 5_000), (3, 2_000)])
def test_a_sliver_keeps_a_pixel_on_its_short_side(size: tuple[int, int]) -> None:
    out = io.BytesIO()
    Image.new("RGB", size, "red").save(out, "PNG")
    found = read(out.getvalue())
    assert (found.width, found.height) == size and min(Image.open(io.BytesIO(found.thumb)).size) >= 1


@pytest.mark.parametrize("payload", [b"VP8X\n\0\0\0\0\0\0\0\xff\x3f\0\xff\x3f\0",
                                     b"VP8L\n\0\0\0\x2f\xff\xff\xff\x0f\0\0\0\0"])
def test_webp_bomb_is_refused_from_its_header(payload: bytes) -> None:
    """Canvas sizes as RFC 9649 lays them out: 16384 by 16384."""
    body = b"WEBP" + payload
    with pytest.raises(BadInput, match="64 million pixels"):
        read(b"RIFF" + len(body).to_bytes(4, "little") + body)


def test_more_than_25_megabytes_is_refused() -> None:
    with pytest.raises(BadInput, match="25 MB"):
        read(photo_bytes() + b"\0" * MOST_BYTES)


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "AVIF"])
def test_moving_picture_is_refused(kind: str) -> None:
    out = io.BytesIO()
    upright().save(out, kind, save_all=True, append_images=[upright().rotate(180)])
    with pytest.raises(BadInput, match="one still photo"):
        read(out.getvalue())


def test_a_heic_of_several_pictures_gives_its_main_one() -> None:
    """ISO/IEC 23008-12, 6.4.4: the primary item (pitm), wherever it stands in the file."""
    for main, size in ((0, (64, 48)), (1, (32, 24))):
        out = io.BytesIO()
        upright().save(out, "HEIF", save_all=True, append_images=[upright(32, 24)], primary_index=main)
        assert read(out.getvalue()).kind is Kind.HEIC and (read(out.getvalue()).width, read(out.getvalue()).height) == size


def test_what_a_box_file_is_coded_with_is_told_by_its_brands() -> None:
    """ISO/IEC 14496-12, 4.3: phones may put the general brand first; the compatible ones say the rest."""
    for brands, kind in ((b"mif1\0\0\0\0mif1heic", Kind.HEIC), (b"mif1\0\0\0\0mif1avifmiaf", Kind.AVIF),
                         (b"mif1\0\0\0\0", Kind.HEIC),
                         (b"avif\0\0\0\0avifmif1", Kind.AVIF), (b"isom\0\0\0\0isomavc1", None)):
        assert kind_of((8 + len(brands)).to_bytes(4, "big") + b"ftyp" + brands) is kind


def with_scans(count: int) -> bytes:
    """A JPEG whose last scan is repeated: each costs the decoder all the picture once more, and the file a few bytes."""
    out = io.BytesIO()
    Image.new("L", (64, 48)).save(out, "JPEG", progressive=True)
    data = out.getvalue()
    last, end = data.rindex(b"\xff\xda"), data.rindex(b"\xff\xd9")
    return data[:last] + data[last:end] * count + data[end:]


def test_a_jpeg_of_ever_more_scans_is_refused_before_decoding() -> None:
    """300,000 of them took 35 minutes. libjpeg's own progressive script has ten (from memory: jcparam.c)."""
    assert read(with_scans(1)).width == 64
    assert read(with_scans(MOST_SCANS - 9)).width == 64
    begun = time.process_time()
    for many in (MOST_SCANS + 1, 300_000):
        with pytest.raises(BadInput, match="put together in a way"):
            read(with_scans(many))
    assert time.process_time() - begun < 20


def test_scans_are_counted_in_the_first_picture_and_not_in_what_lies_behind_or_within_a_segment() -> None:
    data = photo_bytes()
    assert scans_of(data, MOST_SCANS) == 1
    assert scans_of(data + b"\xff\xda" * 500, MOST_SCANS) == 1  # a film behind a photo, say
    noise = b"\xff\xe5\x02\x02" + b"\xff\xda" * 256  # an APP5 segment of 512 bytes
    assert scans_of(data[:2] + noise + data[2:], MOST_SCANS) == 1
    assert scans_of(b"\xff\xd8\xff", MOST_SCANS) == 0 and scans_of(b"\xff\xd8\xff\xda", MOST_SCANS) == 1


@pytest.mark.parametrize("progressive", [False, True])
def test_a_phone_photo_of_50_million_pixels_is_taken(progressive: bool) -> None:
    """8160 by 6144 and 8064 by 6048 are what phones with such cameras write (from memory)."""
    out = io.BytesIO()
    Image.new("RGB", (8160, 6144), (90, 60, 30)).save(out, "JPEG", progressive=progressive)
    found = read(out.getvalue())
    assert (found.width, found.height) == (8160, 6144) and Image.open(io.BytesIO(found.web)).size == (1600, 1205)


def test_phone_photo_with_a_second_picture_behind_it_is_one_photo() -> None:
    out = io.BytesIO()
    upright().save(out, "MPO", save_all=True, append_images=[upright(32, 24)])
    found = read(out.getvalue())
    assert (found.kind, found.width) == (Kind.JPEG, 64)


@pytest.mark.parametrize(("data", "words"), [
    (b"", "empty"),
    (b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', "not a photo"),
    (b"<!doctype html><script>alert(1)</script>", "not a photo"),
    (b"%PDF-1.7\n", "PDF"),
    (b"GIF89a" + b"\0" * 40, "GIF"),
    (b"\0\0\0\x1cftypavif" + b"\0" * 40, "incomplete"),
    (b"\0\0\0\x1cftypisom" + b"\0" * 40, "film"),
    (b"II*\0" + b"\0" * 40, "raw"),
    (b"\xff\xd8\xff\xe0<script>alert(1)</script>\xff\xd9", "incomplete"),
    (b"\x89PNG\r\n\x1a\n<script></script>IEND\xaeB`\x82", "incomplete"),
])
def test_what_is_no_photo_is_refused_in_words(data: bytes, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read(data)


@pytest.mark.parametrize("kind", KINDS)
def test_script_behind_a_photo_is_in_no_copy(kind: str) -> None:
    tail = b"<script>alert(1)</script>"
    data = photo_bytes(kind)
    try:
        found = read(data + tail)
    except BadInput:
        assert kind in ("HEIF", "AVIF"), "its boxes must fill the file"
        return
    assert tail not in found.web and tail not in found.thumb


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(list(KINDS)), st.data())
def test_damaged_photo_is_read_or_refused_never_worse(kind: str, data: st.DataObject) -> None:
    whole = bytearray(_WHOLE[kind])
    for _ in range(data.draw(st.integers(1, 6))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = read(bytes(whole))
    except BadInput as wrong:
        assert wrong.words.endswith(".")
    else:
        assert found.width * found.height <= 64_000_000


_WHOLE = {kind: photo_bytes(kind) for kind in KINDS}


@pytest.mark.parametrize("mode", ["L", "LA", "P", "PA", "RGBA", "I;16", "1", "CMYK"])
def test_every_kind_of_pixel_becomes_plain_colour(mode: str) -> None:
    image = Image.new("I;16", (64, 48), 0x8000) if mode == "I;16" else upright().convert(
        "RGBA" if mode == "PA" else mode)
    out = io.BytesIO()
    (image.convert("P") if mode == "PA" else image).save(out, "JPEG" if mode == "CMYK" else "PNG")
    seen = Image.open(io.BytesIO(read(out.getvalue()).web))
    assert seen.mode == "RGB" and seen.size == (64, 48)
    if mode == "I;16":
        assert abs(seen.getpixel((10, 10))[0] - 128) <= 2  # type: ignore[index]


def test_see_through_parts_become_white() -> None:
    out = io.BytesIO()
    Image.new("RGBA", (64, 48), (255, 0, 0, 0)).save(out, "PNG")
    assert min(Image.open(io.BytesIO(read(out.getvalue()).web)).getpixel((5, 5))) >= 250  # type: ignore[type-var]


def test_colour_profile_that_cannot_be_read_does_not_stop_a_photo() -> None:
    for profile in (b"no profile at all", ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()):
        out = io.BytesIO()
        upright().save(out, "JPEG", icc_profile=profile)
        assert read(out.getvalue()).width == 64


def test_time_taken_is_the_shops_unless_the_camera_knows_better() -> None:
    data = photo_bytes(taken="2026:03:01 14:30:00")
    assert read(data, zone=ZoneInfo("Australia/Sydney")).taken == datetime(2026, 3, 1, 3, 30, tzinfo=UTC)
    assert read(photo_bytes(taken="0000:00:00 00:00:00")).taken is None
    assert read(photo_bytes()).taken is None
