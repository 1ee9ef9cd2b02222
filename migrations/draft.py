"""Draft a migration from the difference between the models and the newest schema.

    .venv/bin/python -m migrations.draft "Add waste records"
    .venv/bin/python -m migrations.draft "Pins know their removal" --fill photo_pin.removal_id

It sees tables, columns, defaults, keys, indexes, CHECKs and the words of closed lists. It does not see a rename: that it drafts as
one column gone and one new. A draft without any difference is empty: for a migration that only corrects rows.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.script import Script, ScriptDirectory

from app import migrate
from app.db import make_engine
from app.errors import RuleBroken


def draft(message: str, fill: Sequence[str] = ()) -> Path:
    """Write the next numbered file into migrations/versions. BadInput for a column that old rows could not fill.

    `fill` names columns, as "table.column", that a hand-written UPDATE will fill.
    """
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(f"sqlite:///{Path(folder) / 'draft.db'}")
        migrate.upgrade(engine)
        try:
            return draft_from(engine, message, fill)
        finally:
            engine.dispose()


def draft_from(engine: sa.Engine, message: str, fill: Sequence[str] = ()) -> Path:
    """The same, from a SQLite database that stands at the newest schema."""
    config = migrate._config()
    number = len(list(ScriptDirectory.from_config(config).walk_revisions())) + 1
    slug = re.sub(r"[^a-z0-9]+", "_", message.lower()).strip("_")[:40]
    config.set_main_option("file_template", f"%%(rev)s_{slug}")
    config.attributes["fill"] = fill
    with engine.connect() as connection:
        config.attributes["connection"] = connection
        written = command.revision(config, message, autogenerate=True, rev_id=f"{number:04d}")
    if not isinstance(written, Script):
        raise TypeError(f"one migration was asked for, not {written!r}")
    return Path(written.path)


def main() -> int:
    """The exit code: 1 with what to do about it if the models ask what no old row can answer."""
    given = argparse.ArgumentParser(prog="python -m migrations.draft", description="Draft the next migration from the models.")
    given.add_argument("message", help="what it does, as in: Add waste records")
    given.add_argument("--fill", action="append", default=[], metavar="TABLE.COLUMN",
                       help="a column that is never empty and that you will fill by an UPDATE; may be given again")
    told = given.parse_args()
    try:
        print(draft(told.message, told.fill))
    except RuleBroken as wrong:
        print(wrong.words, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
