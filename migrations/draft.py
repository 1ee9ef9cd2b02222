"""Draft a migration from the difference between the models and the newest schema.

    .venv/bin/python -m migrations.draft "Add waste records"

Read what it writes: it never sees a changed CHECK.
"""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

from alembic import command
from alembic.script import ScriptDirectory

from app import migrate
from app.db import make_engine


def draft(message: str) -> None:
    """Write the next numbered file into migrations/versions."""
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(f"sqlite:///{Path(folder) / 'draft.db'}")
        migrate.upgrade(engine)
        config = migrate._config()
        number = len(list(ScriptDirectory.from_config(config).walk_revisions())) + 1
        slug = re.sub(r"[^a-z0-9]+", "_", message.lower()).strip("_")[:40]
        config.set_main_option("file_template", f"%%(rev)s_{slug}")
        with engine.connect() as connection:
            config.attributes["connection"] = connection
            command.revision(config, message, autogenerate=True, rev_id=f"{number:04d}")


if __name__ == "__main__":
    draft(sys.argv[1])
