"""A PostgreSQL server of our own for the length of a test run, on loopback, from Debian's binaries."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

# It holds nothing worth a wait: what it has is gone with the run.
FORGETFUL = ("fsync=off", "full_page_writes=off", "synchronous_commit=off", "autovacuum=off", "wal_level=minimal",
             "max_wal_senders=0", "checkpoint_flush_after=0", "bgwriter_flush_after=0", "wal_writer_flush_after=0",
             "dynamic_shared_memory_type=mmap")


def binaries() -> Path:
    """The newest installed PostgreSQL's programs."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: int(p.parent.name))
    if found:
        return found[-1]
    on_path = shutil.which("pg_ctl")
    assert on_path, "PostgreSQL is not installed; ./tagstrip test installs it on Debian"
    return Path(on_path).parent


@contextmanager
def server() -> Iterator[str]:
    """Start a server; yields an address without database name."""
    folder = Path(tempfile.mkdtemp(prefix="tagstrip-pg-"))
    user = "postgres" if os.getuid() == 0 else None  # PostgreSQL refuses to run as root
    if user:
        shutil.chown(folder, user)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    data, programs = folder / "data", binaries()

    def run(*command: str) -> None:
        subprocess.run(command, check=True, user=user, stdout=subprocess.DEVNULL, cwd=folder,
                       env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"})

    run(str(programs / "initdb"), "-D", str(data), "-U", "tagstrip", "-A", "trust", "-E", "UTF8", "--no-sync")
    settings = " -c ".join((f"-p {port}", "listen_addresses=127.0.0.1", f"unix_socket_directories={folder}", *FORGETFUL))
    run(str(programs / "pg_ctl"), "-D", str(data), "-w", "-o", settings, "-l", str(folder / "log"), "start")
    try:
        yield f"postgresql+psycopg://tagstrip@127.0.0.1:{port}"
    finally:
        run(str(programs / "pg_ctl"), "-D", str(data), "-w", "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def command(address: str, statement: str) -> None:
    """Run one statement outside a transaction, at the server's own database."""
    engine = sa.create_engine(f"{address}/postgres", isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(sa.text(statement))
    engine.dispose()
