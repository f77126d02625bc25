"""A PostgreSQL server for the tests alone: in a folder of its own, on a socket in it, gone afterwards."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path

from armrise.store.database.server.address import ServerAddress

NOBODY = 65534
HBA = "local all locked scram-sha-256\nlocal all all trust\n"
QUICK = "-c listen_addresses='' -c fsync=off -c full_page_writes=off -c jit=off -c shared_buffers=16MB"
"""No address of the network; nothing of it is to outlive a crash of the machine."""


def program(name: str) -> str | None:
    """Where a program of the server lies; not every system puts it among those that are found by name."""
    places = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return shutil.which(name) or (str(places[-1]) if places else None)


def missing() -> str:
    """Why no server can be started here; empty when one can."""
    try:
        import psycopg  # noqa: F401
    except ImportError:
        return "psycopg is not installed"
    lacking = [name for name in ("initdb", "pg_ctl") if program(name) is None]
    return f"PostgreSQL is not installed ({' and '.join(lacking)} not found)" if lacking else ""


class Cluster:
    """A running server; every database is made as a copy of one that was made before."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._numbers = count(1)

    def address(self, database: str, account: str = "owner") -> ServerAddress:
        """The address of a database, for an account."""
        return ServerAddress(f"postgresql://{account}@/{database}?host={self.folder}")

    def run(self, *statements: str, database: str = "postgres") -> None:
        """Run statements as the owner, each by itself."""
        import psycopg

        name = f"host={self.folder} user=owner dbname={database}"
        with psycopg.connect(name, autocommit=True) as connection:
            for statement in statements:
                connection.execute(statement.encode())

    def database(self, like: str = "template1") -> str:
        """A new database, as empty or full as the one named."""
        name = f"made{next(self._numbers)}"
        self.run(f'CREATE DATABASE "{name}" TEMPLATE "{like}" STRATEGY FILE_COPY')
        return name


@contextmanager
def started() -> Iterator[Cluster]:
    """A server that runs as nobody where the tests run as root, which it refuses."""
    folder = Path(tempfile.mkdtemp(prefix="arm-"))
    as_root = os.geteuid() == 0
    if as_root:
        os.chown(folder, NOBODY, NOBODY)

    def run(name: str, *arguments: str) -> None:
        who = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if as_root else {}
        with (folder / "said").open("ab") as said:  # a pipe would wait for the server, which inherits it
            subprocess.run(
                [str(program(name)), "-D", str(folder / "data"), *arguments],
                cwd=folder, check=True, stdin=subprocess.DEVNULL, stdout=said, stderr=said, timeout=60, **who,
            )  # fmt: skip

    try:
        run("initdb", "-A", "trust", "-U", "owner", "-E", "UTF8", "--locale=C", "--no-sync")
        (folder / "data" / "pg_hba.conf").write_text(HBA)
        run("pg_ctl", "-w", "-o", f"{QUICK} -c unix_socket_directories={folder}", "start")
        yield Cluster(folder)
    finally:
        with suppress(subprocess.CalledProcessError):  # it never ran
            run("pg_ctl", "-w", "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)
