"""What a database's error means, for whom a command says it to: what is wrong, and what to do. Never a traceback."""

from __future__ import annotations

import re
import sys

_MEANT = (
    (r"database is locked|database table is locked|deadlock detected|lock timeout",
     "another program holds it. End that one, or wait, and try again"),
    (r"database or disk is full|no space left|disk full|could not extend file",
     "there is no room on its disk. Make room, and try again: nothing was changed"),
    (r"readonly database|read-only", "it may only be read by this user, or lies on a disk that may only be read"),
    (r"unable to open database file|permission denied|must be owner|insufficient privilege",
     "this user may not open or change it. Use the user whose it is, or give the rights (see README.md)"),
    (r"malformed|not a database|disk i/o error|invalid page|could not read block|unsupported file format",
     "it is damaged. Change nothing, and restore the last good backup to a new folder: ./tagstrip restore FILE --data FOLDER"),
    (r"no such table|no such column|does not exist", "it lacks what a shop's database has: it is another one, or damaged"),
    (r"connection refused|could not connect|connection failed|could not translate|failed to resolve|timeout expired|server closed"
     r"|terminating connection|the connection is lost|consuming input failed",
     "its server does not answer. Look whether it runs and whether TAGSTRIP_DATABASE_URL names it"),
    (r"password authentication|no pg_hba|role .* does not exist|fe_sendauth",
     "its server does not let this user in. Look at TAGSTRIP_DATABASE_URL"),
    (r"could not parse sqlalchemy url|can't load plugin|invalid literal for int|no module named",
     "TAGSTRIP_DATABASE_URL is no address of one. Name it as postgresql://user@host/name"),
)
USELESS = "The database cannot be used: "


def in_words(wrong: BaseException) -> str | None:
    """What to say of an error of the database; None if it is another kind of error."""
    if isinstance(wrong, UnicodeDecodeError) and "sqlalchemy" in sys.modules:  # SQLite's words of a damaged file hold a piece of it
        return f"{USELESS}it is damaged, and holds text that is none."
    if not _is_of_the_database(wrong):
        return None
    said = " ".join(str(getattr(wrong, "orig", None) or wrong).splitlines()[:1]).strip().rstrip(".")
    meant = next((words for pattern, words in _MEANT if re.search(pattern, said.lower())), "")
    return f"{USELESS}{said}: {meant}." if meant else f"{USELESS}{said}."


def _is_of_the_database(wrong: BaseException) -> bool:
    """By name, so that nothing is loaded to find out."""
    return any(kind.__module__.split(".")[0] in ("sqlalchemy", "sqlite3", "psycopg") for kind in type(wrong).__mro__)
