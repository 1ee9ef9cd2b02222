"""The application inside the server's worker process."""

from __future__ import annotations

import ctypes
import gc
import os
import signal
import sys
from pathlib import Path

from flask import Flask

from app import config, create_app

PR_SET_PDEATHSIG = 1  # Linux: be told when the parent is gone, so that no worker outlives its server


def make() -> Flask:
    """Built from what the parent process left in the environment."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)
    app = create_app(config.load(Path(os.environ["TAGSTRIP_SERVE_DATA"]),
                                 secure_cookies=bool(os.environ.get("TAGSTRIP_SERVE_SECURE"))))
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 50, 100)
    return app
