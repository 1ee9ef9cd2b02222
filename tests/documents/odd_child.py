"""A process that makes papers by what their page says, so that what happens around a paper can be tried without making one."""

from __future__ import annotations

import os
import re
import signal
import sys
import time

from app.documents import render_child
from app.documents.job import Job


def render(job: Job) -> bytes:
    if "odd:crash" in job.html:
        os.kill(os.getpid(), signal.SIGKILL)
    if "odd:leave" in job.html:
        sys.stderr.write("two lines,\nthe last of which counts\n")
        sys.stderr.flush()
        os._exit(7)
    if "odd:break" in job.html:
        raise LookupError("no such thing")
    if "odd:hang" in job.html:
        time.sleep(600)
    if "odd:spin" in job.html:  # in C, and not letting go of the interpreter
        re.match("(a+)+$", "a" * 60 + "b")
    if "odd:chatter" in job.html:
        os.write(1, b"a library prints something")
    return b"%PDF-" + str(os.getpid()).encode()


render_child.render = render
render_child._load = lambda: ""
render_child.GRACE_SECONDS = 1.0
sys.exit(render_child.main())
