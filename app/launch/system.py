"""What the machine must have beside Python, what it lacks, and how to get it on this system."""

from __future__ import annotations

import ctypes
import importlib.util
import os
import platform
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from .run import own_words, run_slowly
from .words import fail, say

PDF_COMMANDS = ("demo", "serve", "test", "check")
PDF_LIBRARIES = ("libpango-1.0", "libpangoft2-1.0")  # without these no PDF at all; the rest only betters them


@dataclass(frozen=True)
class Packages:
    """The names of one need; of Debian's and Ubuntu's the first that apt knows is taken."""

    debian: tuple[str, ...]
    fedora: str
    arch: str
    homebrew: str


def _venv_names() -> tuple[str, ...]:
    usual = os.path.realpath("/usr/bin/python3") == os.path.realpath(sys.executable)
    own = f"python3.{sys.version_info[1]}-venv"
    return ("python3-venv", own) if usual else (own, "python3-venv")


NEEDS = {
    "venv": Packages(_venv_names(), "python3", "python", "python"),
    "libpango-1.0": Packages(("libpango-1.0-0", "libpango-1.0-0t64"), "pango", "pango", "pango"),
    "libpangoft2-1.0": Packages(("libpangoft2-1.0-0", "libpangoft2-1.0-0t64"), "pango", "pango", "pango"),
    "libharfbuzz-subset": Packages(
        ("libharfbuzz-subset0", "libharfbuzz-subset0t64"), "harfbuzz", "harfbuzz", "harfbuzz"
    ),
    "a font": Packages(("fonts-dejavu-core",), "dejavu-sans-fonts", "ttf-dejavu", "font-dejavu"),
    "chromium": Packages(("chromium", "chromium-browser"), "chromium", "chromium", "chromium"),
    "pdftoppm": Packages(("poppler-utils",), "poppler-utils", "poppler", "poppler"),
    "postgresql": Packages(("postgresql",), "postgresql-server", "postgresql", "postgresql"),
    "ngspice": Packages(("ngspice",), "ngspice", "ngspice", "ngspice"),
}
WINDOWS = (
    "Windows: install Python 3.11 or newer with its pip and venv parts; Pango comes with MSYS2 "
    "(pacman -S mingw-w64-ucrt-x86_64-pango), and WEASYPRINT_DLL_DIRECTORIES must name its bin folder"
)


def loads(library: str) -> bool:
    """Can this shared library be loaded here?"""
    name = library.removeprefix("lib")
    patterns = {
        "Darwin": ("lib{}.0.dylib", "/opt/homebrew/lib/lib{}.0.dylib", "/usr/local/lib/lib{}.0.dylib"),
        "Windows": ("lib{}-0.dll",),
    }
    for pattern in patterns.get(platform.system(), ("lib{}.so.0",)):
        try:
            ctypes.CDLL(pattern.format(name))
            return True
        except OSError:
            continue
    return False


def has_font() -> bool:
    """Is there an outline font where fontconfig looks? macOS and Windows always have some."""
    if platform.system() in ("Darwin", "Windows"):
        return True
    home = Path.home()
    shared = (Path("/usr/share/fonts"), Path("/usr/local/share/fonts"))
    for folder in (*shared, home / ".fonts", home / ".local/share/fonts"):
        for _, _, names in os.walk(folder):
            if any(name.lower().endswith((".ttf", ".otf", ".ttc", ".pfb")) for name in names):
                return True
    return False


def missing(command: str, *, need_venv: bool) -> list[str]:
    """What this machine lacks for this command, by the names in NEEDS."""
    lacks: list[str] = []
    if need_venv and not (importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip")):
        lacks.append("venv")
    if command in PDF_COMMANDS:
        lacks += [name for name in NEEDS if name.startswith("lib") and not loads(name)]
        lacks += [] if has_font() else ["a font"]
    if command in ("test", "check"):
        browser = shutil.which("chromium") or shutil.which("chromium-browser")
        postgresql = shutil.which("pg_ctl") or any(Path("/usr/lib/postgresql").glob("*/bin/pg_ctl"))
        lacks += [] if browser else ["chromium"]
        lacks += [] if shutil.which("pdftoppm") else ["pdftoppm"]
        lacks += [] if postgresql else ["postgresql"]
        lacks += [] if shutil.which("ngspice") else ["ngspice"]
    return lacks


def family() -> str:
    """Whose package names to speak: debian, fedora, arch, macos, windows or other."""
    if platform.system() in ("Darwin", "Windows"):
        return {"Darwin": "macos", "Windows": "windows"}[platform.system()]
    try:
        release = platform.freedesktop_os_release()
    except OSError:
        return "other"
    kin = [release.get("ID", ""), *release.get("ID_LIKE", "").split()]
    known = {"debian": "debian", "ubuntu": "debian", "fedora": "fedora", "rhel": "fedora", "arch": "arch"}
    return next((known[name] for name in kin if name in known), "other")


def apt_names(lacks: list[str]) -> list[str]:
    """Of each need's possible names the first that apt offers, or else the first."""
    choices = [NEEDS[name].debian for name in lacks]
    command = ["apt-cache", "policy", *(name for names in choices for name in names)]
    try:
        env = dict(os.environ, LC_ALL="C")
        known = subprocess.run(command, env=env, capture_output=True, text=True, check=False).stdout  # noqa: S603
    except OSError:
        known = ""
    offered: set[str] = set()
    package = ""
    for line in known.splitlines():
        if not line.startswith(" "):
            package = line.rstrip(":")
        elif line.strip().startswith("Candidate:") and "(none)" not in line:
            offered.add(package)
    return [next((name for name in names if name in offered), names[0]) for names in choices]


def advice(lacks: list[str]) -> str:
    """One line: how to get what is missing on this system."""
    needs = [NEEDS[name] for name in lacks]
    match family():
        case "debian":
            start, names = "Debian/Ubuntu: sudo apt-get install -y", apt_names(lacks)
        case "fedora":
            start, names = "Fedora: sudo dnf install", [need.fedora for need in needs]
        case "arch":
            start, names = "Arch: sudo pacman -S --needed", [need.arch for need in needs]
        case "macos":
            start, names = "macOS: brew install", [need.homebrew for need in needs]
        case "windows":
            return WINDOWS + "."
        case _:
            return f"This system: install with its own package manager: {', '.join(lacks)}."
    return f"{start} {' '.join(dict.fromkeys(names))}"


def install(lacks: list[str]) -> None:
    """As root on Debian or Ubuntu: fetch the missing packages with apt-get."""
    started = time.monotonic()
    say(f"Installing what the system lacks with apt-get: {', '.join(lacks)}")
    run_slowly(["apt-get", "update", "-q"], lambda _: "reading the package lists")
    wait_for_other_apt = ["-o", "DPkg::Lock::Timeout=120"]
    command = ["apt-get", "install", "-q", "-y", "--no-install-recommends", *wait_for_other_apt]
    code, lines = run_slowly(command + apt_names(lacks), lambda _: "still installing")
    if code:
        own_words(lines)
        say("  apt-get did not install them; its own words are above")
    else:
        say(f"  done in {time.monotonic() - started:.0f} s")
    importlib.invalidate_caches()


def prepare_system(command: str, *, need_venv: bool) -> None:
    """See that the machine has what this command needs; leave only if it cannot work at all."""
    lacks = missing(command, need_venv=need_venv)
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if lacks and is_root and family() == "debian" and shutil.which("apt-get"):
        install(lacks)
        lacks = missing(command, need_venv=need_venv)
    if "venv" in lacks:
        fail(f"Python's venv module is missing. {advice(lacks)}")
    if any(name in lacks for name in PDF_LIBRARIES):
        say(f"PDFs are off until Pango is installed. {advice(lacks)}")
    elif lacks:
        say(f"Missing: {', '.join(lacks)}. {advice(lacks)}")
