"""The process that makes PDFs, one after the other: `python -m app.documents.render_child`, jobs on stdin, answers on stdout.

The only file that knows WeasyPrint. It fetches nothing: an address that the job does not hold is refused, and the document fails
with it. It ends with whoever asks: when stdin is closed it leaves, in the middle of a paper too, and a paper that overruns its
time so badly that not even that is noticed is ended by the system's own alarm.
"""

from __future__ import annotations

import gc
import io
import os
import sys
from typing import Any

from app.documents.job import Job, Outcome, answer, asked
from app.kernel.warm_child import begin, ended_after

PHOTO_PX = 1000  # the longer side of a photo on paper: 190 dpi across half a page
GRACE_SECONDS = 5.0  # beyond a job's time: by then whoever asked has ended this process, or is gone


def main() -> int:
    """Answer jobs until nobody asks any more. Leaves after one that broke: what it left behind is unknown."""
    to, jobs = begin(asked)
    os.environ["SOURCE_DATE_EPOCH"] = "0"  # subset fonts carry a date; the same document must be the same bytes
    missing = _load()
    while True:
        data, seconds = jobs.get()
        with ended_after(seconds + GRACE_SECONDS):
            outcome, body = (Outcome.NO_LIBRARIES, missing.encode()) if missing else _made(data)
            answer(to, outcome, body)
            del data, body
            gc.collect()  # now, while nobody waits: documents are full of circles, and some hold photos
        if outcome in (Outcome.NO_LIBRARIES, Outcome.BROKE):
            return 1


def _load() -> str:
    """Load what every paper needs, before the first comes; why that cannot be done, or nothing."""
    try:
        import weasyprint  # noqa: F401
    except OSError as missing:
        return f"{missing}".replace("\n", " ")[:600]
    import PIL.Image  # noqa: F401

    import app.documents.tags  # noqa: F401

    return ""


def _made(data: bytes) -> tuple[Outcome, bytes]:
    try:
        return Outcome.MADE, render(Job.unpack(data))
    except Refused as refused:
        return Outcome.REFUSED, str(refused).encode()
    except Exception as wrong:  # a library may raise anything; whoever asked is told, and starts another process
        return Outcome.BROKE, f"{type(wrong).__name__}: {wrong}".encode()


class Refused(Exception):
    """A document asked for something that it was not given."""


def render(job: Job) -> bytes:
    """The PDF: PDF/UA-1, tagged by WeasyPrint, with what it leaves out added."""
    from weasyprint import HTML
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    from app.documents.tags import finish

    asked_for: list[str] = []

    class Given(URLFetcher):  # type: ignore[misc]
        """Hands out what the job holds and nothing else."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            found = job.resources.get(url)
            if found is None:
                asked_for.append(url)
                raise FatalURLFetchingError(f"not given to this document: {url}")
            body = smaller(found) if found[:2] == b"\xff\xd8" else found
            return URLFetcherResponse(url, body, {"Content-Type": _media(url, found)})

    try:
        page = HTML(string=job.html, base_url=None, url_fetcher=Given())
        made: bytes = page.write_pdf(pdf_variant="pdf/ua-1", pdf_identifier=b"", custom_metadata=False)
    except FatalURLFetchingError as wrong:
        raise Refused(str(wrong)) from wrong
    if asked_for:
        raise Refused(f"not given to this document: {asked_for[0]}")
    return finish(made)


def smaller(photo: bytes) -> bytes:
    """A JPEG no longer than PHOTO_PX on its longer side; a smaller one goes in byte for byte."""
    from PIL import Image, ImageOps

    with Image.open(io.BytesIO(photo)) as opened:
        if max(opened.size) <= PHOTO_PX:
            return photo
        opened.draft("RGB", (PHOTO_PX, PHOTO_PX))
        fitted = ImageOps.contain(opened.convert("RGB"), (PHOTO_PX, PHOTO_PX))
        out = io.BytesIO()
        fitted.save(out, "JPEG", quality=82)
    return out.getvalue()


def _media(url: str, body: bytes) -> str:
    if body[:2] == b"\xff\xd8":
        return "image/jpeg"
    return {"css": "text/css", "svg": "image/svg+xml", "ttf": "font/ttf", "otf": "font/otf"}.get(
        url.rsplit(".", 1)[-1], "application/octet-stream")


if __name__ == "__main__":
    sys.exit(main())
