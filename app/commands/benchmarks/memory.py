"""How much memory a backup takes at its most, of many photos beside a quarter of them: it must not grow with what a shop holds."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from app.commands.benchmarks.start import STARTER
from app.errors import Unavailable
from app.launch.words import say
from app.photos.store import FolderStore

PHOTOS = 160
BYTES = 500_000  # of one
# Its own peak: what the system keeps of a process that was ended counts what it was before it became this one.
_RUN = """
import pathlib, re, resource, sys
from app.cli import main
code = main(sys.argv[1:])
told = pathlib.Path("/proc/self/status")
found = re.search(r"VmHWM:\\s*(\\d+) kB", told.read_text()) if told.exists() else None
unit = 1e6 if sys.platform == "darwin" else 1e3
most = int(found[1]) / 1e3 if found else resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
print("peak", most)
sys.exit(code)
"""


@dataclass(frozen=True)
class Peak:
    """Most memory in MB of a thing, and of the same with a quarter of the photos; how much was written, in MB."""

    what: str
    beside: str
    mb: float
    beside_mb: float
    written_mb: float

    @property
    def ratio(self) -> float:
        return self.mb / self.beside_mb

    @property
    def line(self) -> str:
        """As the table says it."""
        return (f"{self.what:<38} {self.mb:>14.0f} MB {self.ratio:>7.2f}  beside {self.beside}, {self.beside_mb:.0f} MB; "
                f"{self.written_mb:.0f} MB written")


def peak(folder: Path, photos: int = PHOTOS, size: int = BYTES) -> Peak:
    """Of the shop in `folder`, whose store gets so many photos more."""
    say(f"  the memory of a backup of {photos} photos, beside one of {photos // 4}")
    store, chance = FolderStore(folder / "photos"), random.Random(1)  # noqa: S311 - noise
    found = []
    for number in (photos // 4, photos - photos // 4):
        for _ in range(number):
            store.put(chance.randbytes(size))
        found.append(_backup(folder))
    (few, _), (many, written) = found
    return Peak(f"a backup of {photos} photos, memory", f"{photos // 4} photos", many, few, written)


def _backup(folder: Path) -> tuple[float, float]:
    """Peak memory and size, both in MB."""
    file = folder / "measured.tar"
    env = {name: value for name, value in os.environ.items() if not name.startswith("TAGSTRIP_")}
    done = subprocess.run([sys.executable, "-P", "-c", _RUN, "backup", str(file), "--data", str(folder)],  # noqa: S603
                          env=env | {"PYTHONPATH": str(STARTER.parent)}, capture_output=True, text=True)
    # Copies of orders have no seals in the journal: the backup names them and ends with 1, once it is written and read back.
    if done.returncode not in (0, 1) or "read back" not in done.stdout + done.stderr or not file.exists():
        raise Unavailable(f"The backup whose memory was to be measured failed: {done.stderr.strip()}")
    size = file.stat().st_size / 1e6
    file.unlink()
    return float(done.stdout.split()[-1]), size
