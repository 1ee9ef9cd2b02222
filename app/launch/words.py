"""The commands, and the pages of `--help` that need no environment."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import NoReturn

VERSION = "0.1.0"  # the same as in pyproject.toml; tests/commands holds them together


@dataclass(frozen=True)
class Command:
    """One command: what may follow it, what it does, how it is used."""

    usage: str
    what: str
    examples: tuple[str, ...]


COMMANDS = {
    "demo": Command(
        "[--port 8077] [--data DIR] [--host 127.0.0.1] [--no-browser]",
        "Make an invented shop in a folder of its own and serve it; the sign-ins are printed.",
        ("demo", "demo --port 9000 --no-browser"),
    ),
    "serve": Command(
        "[--data DIR] [--host H] [--port P] [--tls] [--name NAME]",
        "Serve your own shop. The first start makes the owner's account.",
        ("serve --data ~/shop", "serve --data ~/shop --host 0.0.0.0 --tls"),
    ),
    "test": Command(
        "[pytest's own arguments]",
        "Install what the tests need and run them all, real browser included.",
        ("test", "test tests/electrics -k bias"),
    ),
    "check": Command(
        "[--long]",
        "Kill it while it saves, set many people on it at once, flip bits of its file: a table of what came of that.",
        ("check", "check --long"),
    ),
    "migrate": Command(
        "[--data DIR] [--backup FILE] [--accept-photos]",
        "Update the database for this version, after a backup that was read back.",
        ("migrate --data ~/shop", "migrate --data ~/shop --backup /media/usb/shop-before.tar"),
    ),
    "user": Command(
        "{add,code} --name NAME [--role {counter,technician,owner}] [--data DIR]",
        "Add a person to the shop, or make the one-time code with which someone sets a new password.",
        ("user add --name Ines --role technician --data ~/shop", "user code --name Tove --data ~/shop"),
    ),
    "verify": Command(
        "[--data DIR] [--head HEX] [--tidy]",
        "Check journal, records, photos and papers against their fingerprints, and look for files that belong to nothing.",
        ("verify --data ~/shop", "verify --data ~/shop --head 3f9c0a1b"),
    ),
    "backup": Command(
        "FILE [--data DIR]",
        "Write one file that holds the whole shop.",
        ("backup /media/usb/shop.tar --data ~/shop",),
    ),
    "restore": Command(
        "FILE --data DIR",
        "Make a shop from a backup, in a folder that holds none yet.",
        ("restore /media/usb/shop.tar --data ~/shop-again",),
    ),
    "export": Command(
        "DIR [--data DIR]",
        "Write the whole shop in plain files that need no Tagstrip: CSV, JSON, pictures.",
        ("export ~/shop-in-plain-files --data ~/shop",),
    ),
    "import": Command(
        "FILE [--what {customers,parts,past-jobs}] [--dry-run] [--data DIR]",
        "Import a CSV file of customers, parts or past jobs: all rows, or none.",
        ("import customers.csv --dry-run --data ~/shop", "import jobs.csv --what past-jobs --data ~/shop"),
    ),
    "bench": Command(
        "[--json] [--orders N,N] [--database URL]",
        "Benchmark: measure speed and memory of this machine against a baseline.",
        ("bench", "bench --orders 1000,10000"),
    ),
}


def say(words: str) -> None:
    """Show progress. It goes to stderr, so that a command's own output stays clean."""
    sys.stderr.write(words + "\n")
    sys.stderr.flush()


def fail(words: str, code: int = 1) -> NoReturn:
    """Say one clear line on stderr and leave: 1 for a failure, 2 for wrong usage."""
    say("tagstrip: " + words)
    raise SystemExit(code)


def top_help() -> str:
    """The page of `./tagstrip --help`."""
    lines = ["Tagstrip: the second memory of a valve-amplifier repair shop.", ""]
    lines += ["Usage: ./tagstrip COMMAND …", ""]
    lines += [f"  {name:<9}{command.what}" for name, command in COMMANDS.items()]
    lines += ["", "Examples:"]
    lines += [f"  ./tagstrip {COMMANDS[name].examples[0]}" for name in ("demo", "serve", "backup", "test")]
    lines += ["", "./tagstrip COMMAND --help says more. Exit: 0 done, 1 failed, 2 wrong usage."]
    return "\n".join(lines)


def command_help(name: str) -> str:
    """The page of `./tagstrip NAME --help` for as long as the program cannot speak for itself."""
    command = COMMANDS[name]
    lines = [f"Usage: ./tagstrip {name} {command.usage}".rstrip(), "", command.what, "", "Examples:"]
    return "\n".join(lines + [f"  ./tagstrip {example}" for example in command.examples])
