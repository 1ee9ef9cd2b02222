"""Processes that make papers in ways of their own, to be asked like the real one."""

from __future__ import annotations

import sys

ODD = (sys.executable, "-m", "tests.documents.odd_child")
WITHOUT_PANGO = (sys.executable, "-c", """
import sys, cffi
def refuse(self, name, flags=0):
    raise OSError(f"cannot load library {name!r}")
cffi.FFI.dlopen = refuse
from app.documents.render_child import main
sys.exit(main())
""")
