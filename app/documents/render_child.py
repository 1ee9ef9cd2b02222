"""The process that turns one job into one PDF: `python -m app.documents.render_child`, job on stdin, PDF on stdout.

The only file that knows WeasyPrint. It fetches nothing: an address that the job does not hold is refused, and the
document fails with it. Leaves with 3 when the system libraries for PDFs cannot be loaded, 4 when a resource was asked for
that was not given.
"""

from __future__ import annotations

import io
import os
import sys
from typing import Any

from app.documents.job import Job

NO_LIBRARIES = 3
REFUSED = 4
PHOTO_PX = 1000  # the longer side of a photo on paper: 190 dpi across half a page


def main() -> int:
    """Read, render, tag, write."""
    job = Job.unpack(sys.stdin.buffer.read())
    try:
        import weasyprint  # noqa: F401
    except OSError as missing:
        sys.stderr.write(f"{missing}\n".replace("\n", " ")[:600])
        return NO_LIBRARIES
    from app.documents.tags import finish

    os.environ["SOURCE_DATE_EPOCH"] = "0"  # subset fonts carry a date; the same document must be the same bytes
    try:
        made = render(job)
    except Refused as refused:
        sys.stderr.write(str(refused))
        return REFUSED
    sys.stdout.buffer.write(finish(made))
    return 0


class Refused(Exception):
    """A document asked for something that it was not given."""


def render(job: Job) -> bytes:
    """The PDF as WeasyPrint writes it: PDF/UA-1, tagged."""
    from weasyprint import HTML
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    asked: list[str] = []

    class Given(URLFetcher):  # type: ignore[misc]
        """Hands out what the job holds and nothing else."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            found = job.resources.get(url)
            if found is None:
                asked.append(url)
                raise FatalURLFetchingError(f"not given to this document: {url}")
            body = smaller(found) if found[:2] == b"\xff\xd8" else found
            return URLFetcherResponse(url, body, {"Content-Type": _media(url, found)})

    try:
        page = HTML(string=job.html, base_url=None, url_fetcher=Given())
        made: bytes = page.write_pdf(pdf_variant="pdf/ua-1", pdf_identifier=b"", custom_metadata=False)
    except FatalURLFetchingError as wrong:
        raise Refused(str(wrong)) from wrong
    if asked:
        raise Refused(f"not given to this document: {asked[0]}")
    return made


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
