"""Papers as they lie on sheets: nothing runs off the edge or over the foot, nothing is lost, nothing stands alone.

Margins: `paper.html` gives 17 mm at the sides and 21 mm at the foot; what is measured is asked of poppler (pdftotext -bbox), and
of the page's own drawing instructions for pictures.
"""

from __future__ import annotations

import io
import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree as Xml

import pikepdf
import pytest
from flask import Flask
from PIL import Image

from app.db import session, transaction
from app.documents.make import PhotoLost, make
from app.documents.paper import paper
from app.documents.rules import Kind
from app.errors import Unavailable
from app.measuring.rules import Phase
from app.measuring.service import readings as readings_service
from app.orders.models import RepairOrder
from app.photos import pins
from app.photos.models import Phase as When
from app.photos.store import the_store
from tests import factories
from tests.documents import make as story
from tests.documents.test_papers import issue
from tests.factories import NOW
from tests.handover import make as hand
from tests.measuring import make as bench
from tests.pages import PageClient
from tests.people import BY

MM = 72 / 25.4
XHTML = "{http://www.w3.org/1999/xhtml}"
SIDE, FOOT = 16.5 * MM, 20.5 * MM  # half a millimetre for the overhang of letters


@dataclass(frozen=True)
class Word:
    """A word on a sheet, in points from its top left."""

    sheet: int
    left: float
    top: float
    right: float
    bottom: float
    text: str


def words_on(pdf: bytes, folder: Path) -> tuple[list[Word], tuple[float, float]]:
    """Every word with its place, and the size of a sheet."""
    path = folder / "paper.pdf"
    path.write_bytes(pdf)
    told = subprocess.run(["pdftotext", "-bbox", path, "-"], capture_output=True, text=True, check=True).stdout
    told = re.sub(r"[^\t\n\r -\ud7ff\ue000-\ufffd]", "", told)
    pages = list(Xml.fromstring(told).iter(XHTML + "page"))  # noqa: S314 - poppler wrote it of our own paper
    found = [Word(at, *(float(word.attrib[name]) for name in ("xMin", "yMin", "xMax", "yMax")), word.text or "")
             for at, page in enumerate(pages) for word in page.iter(XHTML + "word")]
    return found, (float(pages[0].attrib["width"]), float(pages[0].attrib["height"]))


@dataclass(frozen=True)
class Picture:
    """A picture on a sheet, in points from its bottom left."""

    sheet: int
    left: float
    bottom: float
    wide: float
    high: float


def pictures_on(pdf: bytes) -> Iterator[Picture]:
    """Every JPEG with its place, from the transformations before it is drawn (ISO 32000-1, 8.3.4)."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        for sheet, page in enumerate(opened.pages):
            now, kept = pikepdf.Matrix(), []
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) == "q":
                    kept.append(now)
                elif str(operator) == "Q":
                    now = kept.pop()
                elif str(operator) == "cm":
                    now = pikepdf.Matrix(*(float(one) for one in operands)) @ now
                elif str(operator) == "Do" and page.Resources.XObject[operands[0]].get("/Subtype") == "/Image":
                    yield Picture(sheet, now.e, min(now.f, now.f + now.d), abs(now.a), abs(now.d))


def body_of(found: list[Word], size: tuple[float, float]) -> list[Word]:
    """What stands between head and foot of its sheet."""
    return [one for one in found if one.bottom < size[1] - FOOT and one.top > 18 * MM]


def lies_inside(pdf: bytes, folder: Path) -> list[Word]:
    """Every word of the paper, none of which runs off its sheet or over the foot."""
    found, size = words_on(pdf, folder)
    out = [one for one in found if one.left < SIDE or one.right > size[0] - SIDE]
    assert not out, out[:5]
    feet = [one for one in found if one.text == "journal"]
    assert feet
    over = [one for one in found if size[1] - FOOT - 1 < one.bottom and one.bottom < feet[0].top - 12]
    assert not over, over[:5]
    return found


def pdf_of(order: RepairOrder, kind: Kind, about: int = 0) -> bytes:
    return the_store().get(issue(order, kind, about).sha256)


def jpeg(wide: int, high: int, colour: str = "#7d5a38") -> bytes:
    made = io.BytesIO()
    Image.effect_noise((wide, high), 60).convert("RGB").save(made, "JPEG")
    return made.getvalue()


def test_many_readings_with_long_names_all_lie_on_their_sheets(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order = factories.order()
        meter = bench.instrument()
        for at in range(1, 71):
            point = bench.point(order, f"P{at:02}x and a name that says at length where the second output valve is read")
            readings_service.take(order, readings_service.Taken.at(point, "441", meter, Phase.AS_LEFT, "at idle", 241.0), by=BY,
                                  now=NOW)
    page = paper(order, Kind.REPORT).page
    assert max(chart.count('class="doc-dot"') for chart in page.split("<figure")) <= 25
    assert page.count('class="doc-dot"') == 70 and "continued" in page
    found = lies_inside(pdf_of(order, Kind.REPORT), tmp_path)
    for at in range(1, 71):
        assert sum(one.text == f"P{at:02}x" for one in found) == 2, f"P{at:02}x"  # once in a chart, once in the table


def test_photos_of_any_shape_lie_in_boxes_of_one_size(context: Flask, tmp_path: Path) -> None:
    with transaction():
        order = story.quoted(story.taken_in({"front": jpeg(300, 1600), "board": jpeg(1600, 300), "rear": jpeg(640, 480)}))
        story.repaired(order, left={"front": jpeg(300, 1600), "board": jpeg(1600, 300)})
        tall = story.picture(order, "fuse carrier, close", data=jpeg(200, 1600))
        pins.drop(tall, "finding", 1, "1", x=0.5, y=0.9, by=BY, now=NOW)
    pdf = pdf_of(order, Kind.REPORT)
    found = list(pictures_on(pdf))
    _, size = words_on(pdf, tmp_path)
    assert len(found) >= 6
    for one in found:
        assert one.high <= 75 * MM + 0.5 and one.wide <= 88 * MM, one
        assert one.bottom >= FOOT and one.bottom + one.high <= size[1] - 18 * MM, one
        assert one.left >= SIDE and one.left + one.wide <= size[0] - SIDE, one
    assert {round(one.wide / one.high, 1) for one in found} >= {0.2, 5.3}, "none is pressed into another shape"


OF_MONEY = (Kind.BILL, Kind.CREDIT, Kind.PAYMENT)  # there is none before something was billed or paid: tests/money


@pytest.mark.parametrize("word", ["x" * 300, "C14/C15/C16+C17" * 20, "ΩÅж" * 60])
def test_a_long_word_stays_on_its_sheet(context: Flask, tmp_path: Path, word: str) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        order.depositor.name = word[:120]
        order.amp.model = word[:80]
        story.picture(order, "board", When.AS_LEFT, caption=word[:200])
        hand.leaves_unrepaired(order, danger=f"It burns {word}.", tag=word[:40])
        notice = hand.notice(order, NOW.date(), addressed_to=word[:100], address=word[:150])
        session().flush()
    for kind in [one for one in Kind if one not in OF_MONEY]:
        lies_inside(pdf_of(order, kind, notice.id if kind is Kind.NOTICE else 0), tmp_path)


@pytest.mark.parametrize("blocks", range(0, 60, 6))
def test_a_signature_stands_with_its_text(context: Flask, tmp_path: Path, blocks: int) -> None:
    """However long the text before it, something of the text stands on the sheet of the signature."""
    with transaction():
        order = story.quoted(story.taken_in())
        hand.leaves_unrepaired(order, danger="The panel can become live. " * blocks + "It can kill.")
        hand.acknowledge(order)
    found = lies_inside(pdf_of(order, Kind.UNREPAIRED), tmp_path)
    signed = next(one for one in found if one.text == "signed")
    assert any(one.sheet == signed.sheet and one.text == "acknowledged" or one.text == "take" and one.sheet == signed.sheet
               for one in found), "the signature stands alone"


def test_a_name_from_right_to_left_turns_nothing_round(context: Flask, tmp_path: Path) -> None:
    """Unicode Standard Annex 9, 2.4: what is isolated has no effect on the order of what stands around it."""
    with transaction():
        order = story.taken_in()
        order.depositor.name, order.depositor.phone = "אבגד הוז", "+61 491 570 006"
    page = paper(order, Kind.RECEIPT).page
    assert "<bdi>אבגד הוז</bdi>, <bdi>+61 491 570 006</bdi>" in page.replace("\u00a0", " ")
    found = lies_inside(pdf_of(order, Kind.RECEIPT), tmp_path)
    at = next(place for place, one in enumerate(found) if one.text.startswith("+61"))
    assert [one.text.strip(",") for one in found[at:at + 4]] == ["+61", "491", "570", "006"]
    digits = found[at:at + 4]
    assert [one.left for one in digits] == sorted(one.left for one in digits) and len({round(one.top) for one in digits}) == 1


# A photo that is not whole

def damaged(order: RepairOrder, *, cut: bool) -> int:
    """A photo of the order whose web copy lost its second half, or has one bit turned."""
    photo = story.picture(order, "mains inlet", When.AS_FOUND, caption="the lead", data=jpeg(640, 480))
    path = next(the_store().root.glob(f"{photo.web_sha256[:2]}/{photo.web_sha256}"))
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] if cut else whole[:400] + bytes([whole[400] ^ 1]) + whole[401:])
    pins.drop(photo, "finding", 1, "1", by=BY, now=NOW)
    return photo.id


@pytest.mark.parametrize("cut", [True, False])
@pytest.mark.parametrize("as_page", [True, False])
def test_a_damaged_photo_is_refused_by_name(context: Flask, cut: bool, as_page: bool) -> None:
    with transaction():
        order = story.quoted(story.taken_in())
        photo_id = damaged(order, cut=cut)
    ready = paper(order, Kind.REPORT)
    with pytest.raises(PhotoLost, match=rf"photo {photo_id} \(mains inlet: the lead \(as found\)\) is damaged"):
        make(order, ready, now=NOW, as_page=as_page)
    assert issubclass(PhotoLost, Unavailable)


def test_a_photo_that_was_stored_damaged_is_refused_too(context: Flask) -> None:
    """Its name fits its bytes, and yet half of it would print grey."""
    with transaction():
        order = story.quoted(story.taken_in())
        photo = story.picture(order, "mains inlet", data=jpeg(640, 480))
        half = the_store().get(photo.web_sha256)
        photo.web_sha256 = the_store().put(half[: len(half) // 2])
        pins.drop(photo, "finding", 1, "1", by=BY, now=NOW)
    with pytest.raises(PhotoLost, match="is damaged"):
        make(order, paper(order, Kind.REPORT), now=NOW)


def test_a_damaged_photo_is_said_beside_the_button(app: Flask, technician: PageClient) -> None:
    with app.app_context():
        with transaction():
            order = story.quoted(story.taken_in())
            damaged(order, cut=True)
        order_id = order.id
    page = technician.post(f"/orders/{order_id}/papers/report", status=503)
    assert "mains inlet: the lead" in page.words and "is damaged" in page.words and "strike out the photo" in page.words
    assert "print from the browser" not in page.words
