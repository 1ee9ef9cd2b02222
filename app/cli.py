"""The commands: `./tagstrip <command>`, each with examples in its --help.

Exit 0 on success, 1 with one clear line on stderr on failure, 2 on wrong usage. Nothing heavy is imported before the
words have been understood, so that help and a mistyped command answer at once.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
import traceback
from collections.abc import Callable
from ipaddress import ip_network
from pathlib import Path
from types import ModuleType
from typing import NoReturn

from app.errors import RuleBroken
from app.launch.words import VERSION

DEFAULT_DATA = Path("data")
WHERE = {
    "demo": "running", "serve": "running", "migrate": "running", "user": "people", "verify": "keeping",
    "backup": "keeping", "restore": "keeping", "export": "exchange", "import": "exchange", "bench": "benchmarks",
}


class OneLine(argparse.ArgumentParser):
    """A parser that says what was wrong in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message} (see ./{self.prog} --help)\n")


def parser() -> argparse.ArgumentParser:
    """Every command, its options and its examples."""
    top = OneLine(prog="tagstrip", allow_abbrev=False, formatter_class=argparse.RawDescriptionHelpFormatter,
                  description="Workshop records for valve (tube) amplifier repair.",
                  epilog="examples:\n  ./tagstrip demo\n  ./tagstrip serve --data ~/shop\n  ./tagstrip serve --help")
    top.add_argument("--version", action="version", version=f"tagstrip {VERSION}")
    which = top.add_subparsers(dest="command", required=True, metavar="command", parser_class=OneLine)

    def command(name: str, what: str, *examples: str) -> argparse.ArgumentParser:
        return which.add_parser(name, help=what, description=what, allow_abbrev=False,
                                formatter_class=argparse.RawDescriptionHelpFormatter,
                                epilog="examples:\n" + "\n".join(f"  ./tagstrip {e}" for e in examples))

    _running(command)
    _keeping(command)
    _exchange(command)
    return top


Add = Callable[..., argparse.ArgumentParser]


def _data(made: argparse.ArgumentParser, default: Path | None = DEFAULT_DATA) -> None:
    made.add_argument("--data", type=Path, default=default, required=default is None, metavar="DIR",
                      help="the data folder" + (f" (default: {default})" if default else ""))


def _address(made: argparse.ArgumentParser) -> None:
    made.add_argument("--host", default="127.0.0.1",
                      help="address to listen on: 0.0.0.0 for tablets on the shop's network (default: 127.0.0.1)")
    made.add_argument("--port", type=_port, default=8077, help="port to listen on (default: 8077)")


def _port(typed: str) -> int:
    if not typed.isdecimal() or not 1 <= int(typed) <= 65535:
        raise argparse.ArgumentTypeError(f"{typed!r} is no port; a port is a number from 1 to 65535")
    return int(typed)


def _network(typed: str) -> str:
    try:
        return str(ip_network(typed, strict=False))
    except ValueError:
        raise argparse.ArgumentTypeError(f"{typed!r} is no address or network, as in 192.168.1.5 or 10.0.0.0/24") from None


def _count(typed: str) -> int:
    if not typed.isdecimal() or not 1 <= int(typed) <= 10_000:
        raise argparse.ArgumentTypeError(f"{typed!r} is no number of backups; give a number from 1 to 10000")
    return int(typed)


def _sizes(typed: str) -> list[int]:
    sizes = typed.split(",")
    if not all(one.isdecimal() and 1 <= int(one) <= 1_000_000 for one in sizes):
        raise argparse.ArgumentTypeError(f"{typed!r} is no list of sizes; give numbers of orders, as in 1000,10000")
    return [int(one) for one in sizes]


def _running(command: Add) -> None:
    demo = command("demo", "Create a demo shop in a folder of its own, and serve it.", "demo",
                   "demo --port 8090 --no-browser")
    _data(demo, Path("demo-shop"))
    _address(demo)
    demo.add_argument("--no-browser", action="store_true", help="do not open a browser")
    serve = command("serve", "Serve the shop in this data folder.", "serve --data ~/shop",
                    "serve --data ~/shop --host 0.0.0.0 --tls")
    _data(serve)
    _address(serve)
    serve.add_argument("--tls", action="store_true",
                       help="serve https with a certificate of this shop's own; devices are set up at /trust")
    serve.add_argument("--name", action="append", default=[], metavar="NAME",
                       help="another host name for this server, as in shop.lan; may be given again")
    serve.add_argument("--behind-proxy", action="append", default=[], type=_network, metavar="ADDRESS", dest="proxies",
                       help="the address or network of a proxy with its own https through which every request comes; may be "
                            "given again. It must set X-Forwarded-For and X-Forwarded-Proto; what comes past it is refused")
    migrate = command("migrate", "Update the database for this version, after a backup that was read back.",
                      "migrate --data ~/shop", "migrate --data ~/shop --backup /media/usb/shop-before.tar",
                      "migrate --data ~/shop --search")
    _data(migrate)
    migrate.add_argument("--backup", type=Path, metavar="FILE",
                         help="where to keep the shop as it was (default: before-SCHEMA.tar in the data folder)")
    migrate.add_argument("--accept-photos", action="store_true",
                         help="also take this photos folder for the shop's, though the database knows another")
    migrate.add_argument("--search", action="store_true", help="also rebuild the search index from the records")
    user = command("user", "Add a person who may sign in (the password is asked for, or read from standard input), or make the "
                   "one-time code with which someone sets a new password.",
                   "user add --name Ines --role technician --data ~/shop",
                   "user add --name Tove --role owner --data ~/shop < password.txt", "user code --name Tove --data ~/shop")
    user.add_argument("what", choices=["add", "code"])
    user.add_argument("--name", required=True)
    user.add_argument("--role", choices=["counter", "technician", "owner"], help="needed with add")
    _data(user)


def _keeping(command: Add) -> None:
    verify = command("verify", "Check journal, records, photos and papers against their fingerprints.",
                     "verify --data ~/shop", "verify --data ~/shop --head 3f9c0a1b")
    _data(verify)
    verify.add_argument("--head", default="", metavar="HEX", help="the journal's hash as a paper prints it: is it still there?")
    verify.add_argument("--anchor", type=Path, metavar="FILE",
                        help="hold the journal against this file, best on another disk, and add a line of this run to it")
    verify.add_argument("--tidy", action="store_true", help="also put aside files that no record names (end the server first)")
    backup = command("backup", "Write everything into one file, and read it back.", "backup shop-2026-11-25.tar --data ~/shop",
                     "backup /media/usb/shop --keep 30 --data ~/shop")
    backup.add_argument("file", type=Path, metavar="FILE", help="the file to write; in a folder, one named by date and time")
    backup.add_argument("--keep", type=_count, default=0, metavar="N",
                        help="in that folder keep the newest N good backups, and remove older ones that were read back")
    _data(backup)
    restore = command("restore", "Make a data folder from a backup file.",
                      "restore shop-2026-11-25.tar --data ~/shop-again")
    restore.add_argument("file", type=Path, metavar="FILE")
    _data(restore, None)


def _exchange(command: Add) -> None:
    export = command("export", "Write everything in plain files that need no Tagstrip: CSV, JSON, pictures.",
                     "export ~/shop-in-plain-files --data ~/shop")
    export.add_argument("dir", type=Path, metavar="DIR", help="a folder that is not there yet, or is empty")
    _data(export)
    bring = command("import", "Import a CSV file of customers, parts or past jobs: all rows, or none.",
                    "import customers.csv --dry-run --data ~/shop", "import jobs.csv --what past-jobs --data ~/shop")
    bring.add_argument("file", type=Path, metavar="FILE")
    bring.add_argument("--what", choices=["customers", "parts", "past-jobs"],
                       help="what the rows are (default: told by the first line)")
    bring.add_argument("--dry-run", action="store_true", help="show what would be taken in, and change nothing")
    _data(bring)
    bench = command("bench", "Benchmark: measure speed and memory of this machine against a baseline.", "bench",
                    "bench --json", "bench --orders 1000,10000")
    bench.add_argument("--json", action="store_true", help="print JSON")
    bench.add_argument("--orders", type=_sizes, default=[], metavar="N,N",
                       help="measure a shop that has grown to so many orders, instead of all else")
    bench.add_argument("--database", default="", metavar="URL",
                       help="an empty database to measure in, which is left filled (default: SQLite in a folder of its own)")


def main(argv: list[str] | None = None) -> int:
    """Run one command; the exit code."""
    given = parser().parse_args(argv)
    try:
        module = _loaded(f"app.commands.{WHERE[given.command]}")
        run = getattr(module, "import_" if given.command == "import" else given.command)
        code: int = run(given) or 0
        sys.stdout.flush()
        return code
    except RuleBroken as wrong:
        return _failed(wrong.words)
    except BrokenPipeError:  # whoever read our output has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as wrong:
        place = f"{wrong.filename}: " if wrong.filename else ""
        return _failed(f"{place}{wrong.strerror or wrong}")
    except KeyboardInterrupt:
        return 130
    except Exception as wrong:  # only the database's errors have words of their own; every other is a fault of the program
        from app.commands.troubles import in_words

        if (words := in_words(wrong)) is None:
            raise
        return _failed(words)


def _loaded(name: str) -> ModuleType:
    """The module of a command. RuleBroken if a package that it needs is not whole; what is wrong with our own code is raised."""
    try:
        return importlib.import_module(name)
    except (ImportError, SyntaxError) as wrong:
        where = [frame.filename for frame in traceback.extract_tb(wrong.__traceback__)]
        where += [wrong.filename] if isinstance(wrong, SyntaxError) and wrong.filename else []
        missing = isinstance(wrong, ModuleNotFoundError) and not (wrong.name or "").startswith("app")
        if not missing and Path(where[-1]).is_relative_to(Path(__file__).parent):
            raise
        raise RuleBroken(f"A package in .venv is not whole: {wrong.msg} ({where[-1]}). "
                         "Delete the folder .venv and start again: it is made again.") from wrong


def _failed(words: str) -> int:
    print(f"tagstrip: {' '.join(words.split())}", file=sys.stderr)
    return 1


if __name__ == "__main__":
    os.umask(0o077)  # customers' data: what a command writes is its owner's only
    sys.exit(main())
