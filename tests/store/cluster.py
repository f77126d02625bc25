"""A PostgreSQL server for the tests alone: in a folder of its own, on a socket in it, gone afterwards."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path

from armrise.store.database.server.address import ServerAddress

NOBODY = 65534
HBA = """local all locked scram-sha-256
local all all trust
hostssl all far 127.0.0.1/32 scram-sha-256
"""
QUICK = "-c fsync=off -c full_page_writes=off -c jit=off -c shared_buffers=16MB"
"""Nothing of it is to outlive a crash of the machine."""
CURVE = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-noenc")


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

    def __init__(self, folder: Path, port: int, certified: bool) -> None:
        self.folder = folder
        self.port = port
        self.certified = certified
        """It has a certificate for "localhost", of the authority of ``own.pem``; ``other.pem`` is another."""
        self._numbers = count(1)

    def address(self, database: str, account: str = "owner") -> ServerAddress:
        """The address of a database, for an account."""
        return ServerAddress(f"postgresql://{account}@/{database}?host={self.folder}&port={self.port}")

    def run(self, *statements: str, database: str = "postgres") -> None:
        """Run statements as the owner, each by itself."""
        import psycopg

        name = f"host={self.folder} port={self.port} user=owner dbname={database}"
        with psycopg.connect(name, autocommit=True) as connection:
            for statement in statements:
                connection.execute(statement.encode())

    def database(self, like: str = "template1") -> str:
        """A new database, as empty or full as the one named."""
        name = f"made{next(self._numbers)}"
        self.run(f'CREATE DATABASE "{name}" TEMPLATE "{like}" STRATEGY FILE_COPY')
        return name


def free_port() -> int:
    """A port that nothing on this machine uses now."""
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return tried.getsockname()[1]


def authorities(folder: Path) -> bool:
    """Make two certificate authorities; False where that cannot be done here."""
    if shutil.which("openssl") is None:
        return False
    for name in ("own", "other"):
        _certified(folder, name, f"/CN=the tests' {name} authority")
    return True


def certificate(folder: Path, as_root: bool) -> str:
    """Have the server's certificate made by its own authority; how the server is told of it."""
    by = ("-CA", str(folder / "own.pem"), "-CAkey", str(folder / "own.key"))
    _certified(folder, "server", "/CN=localhost", *by, "-addext", "subjectAltName=DNS:localhost")
    if as_root:
        os.chown(folder / "server.key", NOBODY, NOBODY)
    return f"-c ssl_cert_file={folder}/server.pem -c ssl_key_file={folder}/server.key"


def _certified(folder: Path, name: str, subject: str, *more: str) -> None:
    files = ("-keyout", str(folder / f"{name}.key"), "-out", str(folder / f"{name}.pem"))
    subprocess.run(
        ["openssl", "req", "-x509", *CURVE, "-days", "2", "-subj", subject, *files, *more],
        check=True, capture_output=True, timeout=60,
    )  # fmt: skip


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
        port, certified = free_port(), authorities(folder)
        run("initdb", "-A", "trust", "-U", "owner", "-E", "UTF8", "--locale=C", "--no-sync")
        (folder / "data" / "pg_hba.conf").write_text(HBA)
        place = f"-c unix_socket_directories={folder} -c port={port} -c listen_addresses="
        place += f"127.0.0.1 -c ssl=on {certificate(folder, as_root)}" if certified else "''"
        run("pg_ctl", "-w", "-o", f"{QUICK} {place}", "start")
        yield Cluster(folder, port, certified)
    finally:
        with suppress(subprocess.CalledProcessError):  # it never ran
            run("pg_ctl", "-w", "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)
