"""The font files that pages and papers are set in, from the font packages."""

from __future__ import annotations

import functools
from pathlib import Path

import fontpkg_atkinson_hyperlegible
import fontpkg_dm_mono
import fontpkg_zilla_slab

PACKAGES = (fontpkg_atkinson_hyperlegible, fontpkg_zilla_slab, fontpkg_dm_mono)


@functools.cache
def font_files() -> dict[str, Path]:
    """Every font file of the font packages, by its name."""
    return {path.name: path for package in PACKAGES
            for path in Path(str(package.__file__)).parent.rglob("*") if path.suffix in (".ttf", ".otf", ".woff2")}
