"""Turning the page of a paper into bytes in the store: a PDF, or on a machine without Pango the whole page in one file."""

from __future__ import annotations

import base64
import functools
import io
from datetime import datetime
from pathlib import Path

from app.db import end_reading
from app.documents import pdf
from app.documents.job import Job
from app.documents.models import PAGE, PDF
from app.documents.paper import Paper, write
from app.documents.queries import newest, shop_logo
from app.documents.rules import css_string, photos_in, with_resources
from app.documents.service import Made
from app.errors import NotFound, Unavailable
from app.journal import service as journal
from app.kernel.fonts import font_files
from app.kernel.local_forms import moment
from app.orders.models import RepairOrder
from app.photos import queries as photos
from app.photos.store import DamagedFile, the_store
from app.shop.queries import locale, the_shop
from app.shop.wording import Pack

FONTS = ("AtkinsonHyperlegible-Regular.ttf", "AtkinsonHyperlegible-Bold.ttf", "AtkinsonHyperlegible-Italic.ttf",
         "ZillaSlab-SemiBold.ttf", "DMMono-Regular.ttf", "DMMono-Medium.ttf")
STYLES = Path(__file__).resolve().parent.parent.parent / "static/css/paper.css"
DEMO = "paper:demo.svg"
LOGO = "paper:logo.jpg"
_DEMO_LETTERS = ("M0 0V40H12Q26 40 26 20Q26 0 12 0Z", "M62 0H38V40H62M38 20H58", "M74 40V0L90 24L106 0V40",
                 "M132 0Q118 0 118 20Q118 40 132 40Q146 40 146 20Q146 0 132 0Z")


_RESTORE = "Restore it from a backup, or strike out the photo with a reason."


_LOGO_LOST = ("The file of the shop's logo is gone or damaged, so this paper cannot show it. Restore it from a backup, or withdraw "
              "the logo under Shop.")


@functools.cache
def styles() -> str:
    """The style sheet of every paper, as it was when this program first made one."""
    return STYLES.read_text(encoding="utf-8")


class PhotoLost(Unavailable):
    """A photo of the paper cannot be shown: its file is gone or damaged."""


def make(order: RepairOrder, paper: Paper, *, now: datetime, as_page: bool = False) -> Made:
    """Render the next revision and put it in the store. PdfUnavailable if that cannot be done here and now,
    PhotoLost if a photo on it is gone or damaged.

    Slow: called before the transaction that writes the row, and holding no read open. `as_page` keeps the page itself
    as the issued bytes, for printing from the browser.
    """
    before = newest(order.id, paper.kind, paper.about_id)
    revision = before.revision + 1 if before else 1
    head = journal.head()
    logo = _logo()
    html = document(order, paper, revision, replaces=before.revision if before else 0, head=head, now=now,
                    logo=LOGO if logo else "")
    photos = _photos(paper.page)
    fonts = {f"paper:font/{name}": font_files()[name].read_bytes() for name in FONTS}
    demo = {DEMO: _demo_mark()} if the_shop().demo else {}
    end_reading()
    resources = {**fonts, **photos, **demo, **logo}
    made, media_type = ((_in_one_file(html, resources), PAGE) if as_page
                        else (pdf.render(Job(html, now.isoformat(), resources)), PDF))
    store = the_store()
    return Made(paper.kind, paper.about_id, revision, store.put(made), store.put(paper.page.encode()), paper.facts_sha256,
                paper.facts.version, paper.draft, media_type, len(made), head)


def document(order: RepairOrder, paper: Paper, revision: int, *, replaces: int, head: str, now: datetime,
             logo: str = "") -> str:
    """The whole HTML of one revision: the page in its frame, with the logo above it (by its address) and what stands at the foot of
    every sheet.
    """
    shop = the_shop()
    after = f", replaces revision {replaces}" if replaces else ""
    foot = f"{shop.name} · repair {order.number} · {paper.kind.called(shop.wording).lower()}, revision {revision}{after}"
    return write(
        "paper.html", logo=logo, page=paper.page, title=f"{'Draft of ' if paper.draft else ''}{paper.title}",
        draft=css_string(paper.draft), size=shop.paper, fonts=FONTS, demo=shop.demo,
        language="en-US" if shop.wording is Pack.TUBE else "en-GB", author=shop.name, revision=revision,
        issued=now.isoformat(timespec="seconds"), issued_on=moment(now.astimezone(shop.zone), locale()),
        foot=css_string(foot), head=css_string(f"journal {head[:16]} {head[16:32]}"),
        journal_hash=head, demo_words=css_string("Demo shop: invented people, invented amps. Not a record."),
        styles=styles())


def _photos(page: str) -> dict[str, bytes]:
    """The web copies of the photos on it, each whole. One that is gone or damaged stops the paper: it must not differ from
    its page, and half a photo is not printed.
    """
    store, found = the_store(), {}
    for address, (photo_id, sha256) in photos_in(page).items():
        try:
            found[address] = store.get(sha256)
        except NotFound as gone:
            raise PhotoLost(f"The file of {_called(photo_id)} is not in the store, so this paper cannot show it. {_RESTORE}") \
                from gone
        except DamagedFile as rotten:
            raise _damaged(photo_id) from rotten
        if not _decodes(found[address]):
            raise _damaged(photo_id)
    return found


def _logo() -> dict[str, bytes]:
    """The shop's logo, whole, by its address; nothing where it has none. PhotoLost as for any other picture of a paper."""
    logo = shop_logo()
    if logo is None:
        return {}
    try:
        body = the_store().get(logo.web_sha256)
    except (NotFound, DamagedFile) as lost:
        raise PhotoLost(_LOGO_LOST) from lost
    if not _decodes(body):
        raise PhotoLost(_LOGO_LOST)
    return {LOGO: body}


def _damaged(photo_id: int) -> PhotoLost:
    return PhotoLost(f"The file of {_called(photo_id)} is damaged, so this paper cannot show it. {_RESTORE}")


def _called(photo_id: int) -> str:
    photo = photos.find(photo_id)
    return f"photo {photo_id} ({photo.words})" if photo is not None else f"photo {photo_id}"


def _decodes(body: bytes) -> bool:
    """Whether the whole picture can be read. Pillow fills what is missing with grey only where it is told to."""
    from PIL import Image

    try:
        with Image.open(io.BytesIO(body)) as opened:
            opened.load()
    except (OSError, ValueError, SyntaxError):
        return False
    return True


def _in_one_file(html: str, resources: dict[str, bytes]) -> bytes:
    """The page with everything it shows inside it."""

    def inside(body: bytes) -> str:
        media = "image/jpeg" if body[:2] == b"\xff\xd8" else "image/svg+xml" if body[:4] == b"<svg" else "font/ttf"
        return f"data:{media};base64,{base64.b64encode(body).decode()}"

    return with_resources(html, {name: inside(body) for name, body in resources.items()}).encode()


def _demo_mark() -> bytes:
    """DEMO across the sheet, drawn and not written, so that it does not get in among the words."""
    letters = "".join(f'<path d="{one}"/>' for one in _DEMO_LETTERS)
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="200" height="280" viewBox="0 0 200 280">'
            f'<g transform="translate(34 190) rotate(-52)" fill="none" stroke="#f8f0e7" stroke-width="7">{letters}</g>'
            "</svg>").encode()
