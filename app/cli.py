"""The commands: `./tagstrip <command>`, each with examples in its --help.

Exit 0 on success, 1 with one clear line on stderr on failure, 2 on wrong usage.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from app import commands
from app.errors import RuleBroken

DEFAULT_DATA = Path("data")
EXAMPLES = argparse.RawDescriptionHelpFormatter


def parser() -> argparse.ArgumentParser:
    """Every command, its options and its examples."""
    top = argparse.ArgumentParser(prog="tagstrip", description="The second memory of a valve-amplifier repair.")
    which = top.add_subparsers(dest="command", required=True, metavar="command")

    def command(name: str, what: str, examples: str) -> argparse.ArgumentParser:
        made = which.add_parser(name, help=what, description=what, formatter_class=EXAMPLES,
                                epilog="examples:\n" + "\n".join(f"  ./tagstrip {e}" for e in examples.split("; ")))
        made.set_defaults(run=getattr(commands, name))
        return made

    def data(made: argparse.ArgumentParser, default: Path | None = DEFAULT_DATA) -> None:
        made.add_argument("--data", type=Path, default=default, required=default is None, metavar="DIR",
                          help="the data folder" + (f" (default: {default})" if default else ""))

    def address(made: argparse.ArgumentParser) -> None:
        made.add_argument("--host", default="127.0.0.1", help="address to listen on (default: 127.0.0.1)")
        made.add_argument("--port", type=int, default=8077, help="port to listen on (default: 8077)")

    demo = command("demo", "Create a demo shop in a folder of its own, and serve it.", "demo; demo --port 8090 --no-browser")
    data(demo, Path("demo-shop"))
    address(demo)
    demo.add_argument("--no-browser", action="store_true", help="do not open a browser")

    serve = command("serve", "Serve the shop in this data folder.",
                    "serve --data ~/shop; serve --data ~/shop --host 0.0.0.0 --port 8077")
    data(serve)
    address(serve)
    serve.add_argument("--tls", action="store_true", help="serve https with the certificate in the data folder")

    data(command("migrate", "Bring the database to this version's schema.", "migrate --data ~/shop"))
    data(command("verify", "Check journal, photos and documents against their hashes.", "verify --data ~/shop"))

    backup = command("backup", "Write everything into one file.", "backup shop-2026-11-25.tar --data ~/shop")
    backup.add_argument("file", type=Path)
    data(backup)
    restore = command("restore", "Make a data folder from a backup file.", "restore shop-2026-11-25.tar --data ~/shop-again")
    restore.add_argument("file", type=Path)
    data(restore, None)

    user = command("user", "People who may sign in.", "user add --name Ines --role technician --data ~/shop")
    user.add_argument("what", choices=["add"])
    user.add_argument("--name", required=True)
    user.add_argument("--role", choices=["counter", "technician", "owner"], required=True)
    data(user)
    return top


def main(argv: list[str] | None = None) -> int:
    """Run one command; the exit code."""
    given = parser().parse_args(argv)
    try:
        code: int = given.run(given) or 0
        return code
    except RuleBroken as wrong:
        print(f"tagstrip: {wrong.words}", file=sys.stderr)
        return 1
    except OSError as wrong:
        print(f"tagstrip: {wrong.filename or ''}: {wrong.strerror or wrong}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main())
