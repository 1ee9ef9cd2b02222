"""Templates kept as bytecode, as Python keeps its own modules: compiled at their first use, read from then on.

They lie in `templates/__pycache__`. Each is bound to the text it was made from, to Jinja's version and to the settings that
change what is compiled; another of any of these and it is compiled again. Deleting the folder costs nothing but that.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import tempfile
from pathlib import Path

import jinja2
from flask import Flask
from jinja2.bccache import Bucket, BytecodeCache

FOLDER = Path(__file__).resolve().parent.parent / "templates/__pycache__"
_HASH = hashlib.sha256().digest_size  # bytes before the code: what a power cut left half-written is known by them


class Kept(BytecodeCache):
    """Bytecode in `folder`, which is made at the first template."""

    def __init__(self, folder: Path, settings: str) -> None:
        self.folder = folder
        self.settings = settings

    def get_source_checksum(self, source: str) -> str:
        """Of the text, and of all else that the bytecode depends on."""
        return super().get_source_checksum(f"{self.settings}\0{source}")

    def load_bytecode(self, bucket: Bucket) -> None:
        """Fill the bucket if its template lies here, whole; Jinja looks whether it is of the text at hand."""
        with contextlib.suppress(OSError):  # not there, or another account's: it is compiled
            found = self._place(bucket).read_bytes()
            if hashlib.sha256(found[_HASH:]).digest() == found[:_HASH]:
                bucket.bytecode_from_string(found[_HASH:])

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep it. As with Python's own, nobody is told where that cannot be done: the page has its template already."""
        if sys.dont_write_bytecode:
            return
        code = bucket.bytecode_to_string()
        with contextlib.suppress(OSError):
            self.folder.mkdir(exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.folder)
            part = Path(name)
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(hashlib.sha256(code).digest() + code)
                part.replace(self._place(bucket))
            except BaseException:
                part.unlink()
                raise

    def _place(self, bucket: Bucket) -> Path:
        return self.folder / f"{bucket.key}.{sys.implementation.cache_tag}"


def install(app: Flask, folder: Path = FOLDER) -> None:
    """Keep the application's templates. Called when its Jinja settings stand."""
    found = app.jinja_env
    settings = (jinja2.__version__, found.trim_blocks, found.lstrip_blocks, found.undefined.__name__, sorted(found.extensions),
                sorted(name for name, said in found.filters.items() if hasattr(said, "jinja_pass_arg")))
    found.bytecode_cache = Kept(folder, repr(settings))
