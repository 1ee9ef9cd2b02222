"""Reading a CSV file whose encoding and delimiter nobody has told. Pure."""

from __future__ import annotations

import csv
import io
import itertools
from dataclasses import dataclass

from app.errors import BadInput
from app.exchange.cells import unguard

MOST_BYTES = 100_000_000
MARKS = ((b"\xef\xbb\xbf", "utf-8-sig", "UTF-8 with a mark"), (b"\xff\xfe", "utf-16", "UTF-16"), (b"\xfe\xff", "utf-16", "UTF-16"))
TABLES = {"cp1252": "Windows-1252", "cp1250": "Windows-1250, Central European", "cp1251": "Windows-1251, Cyrillic",
          "mac_roman": "Mac Roman", "cp850": "code page 850, DOS"}
ENOUGH = 100_000  # bytes of lines that are not plain ASCII, to tell the table by
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}


@dataclass(frozen=True)
class Sheet:
    """A file as read: names of the columns, and rows with the line on which each begins."""

    encoding: str
    delimiter: str
    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def read(data: bytes) -> Sheet:
    """Decode and split; BadInput says what is wrong and where."""
    if len(data) > MOST_BYTES:
        raise BadInput("The file is over 100 MB. Cut it into several.")
    encoding, text = _decoded(data)
    if not text.strip():
        raise BadInput("The file is empty.")
    delimiter = _delimiter(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[tuple[int, tuple[str, ...]]] = []
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((begins, tuple(map(unguard, cells))))
            begins = reader.line_num + 1
    except csv.Error as wrong:
        raise BadInput(f"Row {begins} cannot be read: {wrong}. Look for a quotation mark that is opened and not closed.") from wrong
    (_, columns), *body = rows
    return Sheet(encoding, DELIMITERS[delimiter], tuple(name.strip() for name in columns), tuple(body))


def _decoded(data: bytes) -> tuple[str, str]:
    try:
        for mark, codec, words in MARKS:
            if data.startswith(mark):
                return words, data.decode(codec)
        if data[:200].count(0) > len(data[:200]) // 4:
            little = data[1:200:2].count(0) > data[:200:2].count(0)
            return "UTF-16 without a mark", data.decode("utf-16-le" if little else "utf-16-be")
    except UnicodeDecodeError as wrong:
        raise BadInput("The file ends in the middle of a character. Save it again as UTF-8.") from wrong
    if 0 in data:
        raise BadInput("That is not a CSV file. Save the sheet as CSV, UTF-8.")
    try:
        return "UTF-8", data.decode("utf-8")
    except UnicodeDecodeError:
        pass
    return _old_table(data)


def _old_table(data: bytes) -> tuple[str, str]:
    """Decoded by the table of one byte a sign that gives the least disorder; where several do, by the first of TABLES.

    Disorder: the measure of the library charset-normalizer, over the lines that are not plain ASCII.
    """
    from charset_normalizer import from_bytes  # only such files need it

    sample = b"\n".join(line for line in data.splitlines() if not line.isascii())[:ENOUGH]
    tried = [(found.chaos, place) for place, codec in enumerate(TABLES)
             if _decodes(data, codec) and (found := from_bytes(sample, cp_isolation=[codec]).best()) is not None]
    if not tried:
        raise BadInput("The file's encoding cannot be told. Save it again as UTF-8.")
    codec = list(TABLES)[min(tried)[1]]
    # The Windows table differs from Latin-1 only where Latin-1 has control signs.
    plain = codec == "cp1252" and not any(0x80 <= one < 0xA0 for one in data)
    return "Latin-1" if plain else TABLES[codec], data.decode(codec)


def _decodes(data: bytes, codec: str) -> bool:
    try:
        data.decode(codec)
    except UnicodeDecodeError:
        return False
    return True


def _delimiter(text: str) -> str:
    """The sign that cuts the first rows into the same number of cells, and into the most; a comma if none does."""
    best, found = 1, ","
    for sign in DELIMITERS:
        try:
            widths = [len(row) for row in itertools.islice(csv.reader(io.StringIO(text, newline=""), delimiter=sign), 20) if row]
        except csv.Error:
            continue
        even = sum(width == widths[0] for width in widths) / len(widths) if widths else 0
        if even >= 0.5 and widths[0] > best:
            best, found = widths[0], sign
    return found
