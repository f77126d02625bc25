"""Programs killed in the middle of their work, and what the files hold afterwards.

``python -m tests.soak.kills [N] [SEED]`` kills N of them by turns of the kinds below. Each is a process of
its own, forked from this one so that nothing is imported first; it says what was done once that was done, and
is killed without warning at a moment drawn by the seed. Afterwards the store has to be sound, with everything
that was said to be written in it, and every action whole or not there at all.
"""

from __future__ import annotations

import contextlib
import gzip
import os
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import NamedTuple

from armrise.store.caseload.take import take_whole
from armrise.store.caseload.write import Ledger
from armrise.store.database.place import Store, driver_of
from armrise.store.database.sqlite import COMPANIONS
from armrise.store.entries.filed import CaseloadFile
from armrise.store.entries.words import CaseHead
from armrise.store.exchange.backup.make import back_up, copies_in
from armrise.store.exchange.backup.restore import look, plan, put_back
from armrise.store.exchange.into import caseload_file
from armrise.store.exchange.out.caseload_json import MARK, as_text
from armrise.store.exchange.out.private_file import write_private
from armrise.store.record.kinds.care import Contact
from armrise.store.rules.read import load
from armrise.store.verify.verify import verify

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
TODAY = date(2026, 3, 2)
FIXTURE = Path(__file__).parents[1] / "store" / "fixtures" / "schema-4.gz"
HEAD = CaseHead(code="NV-901", person="P-901", side="LEFT", pathway="RC", registered_on=TODAY)
PATIENCE = 30.0
"""Seconds after which a process that should have ended counts as hanging."""
LONGER = 1.3
"""A process is killed within so many times what its work takes undisturbed."""

Tell = Callable[[str], None]


class Kind(NamedTuple):
    """One kind of work: how its folder is laid out, the work itself, and what is wrong afterwards."""

    name: str
    lay: Callable[[Path], None]
    work: Callable[[Path, Tell], None]
    """Told the folder, and whom to tell what is done and must not be lost."""
    faults: Callable[[Path, list[str]], Iterator[str]]
    """What is wrong in the folder, given all that was told."""


class Kill(NamedTuple):
    """What became of one kill."""

    kind: str
    done: int
    """So much had been told to be done."""
    faults: tuple[str, ...]


# appending


def _small_store(folder: Path) -> None:
    store = Store.create(folder / "caseload.armrise", zone="Europe/London")
    _ledger(store).register(HEAD)


def _ledger(store: Store) -> Ledger:
    return Ledger(store, "TK", lambda: NOW, load())


def _append(folder: Path, tell: Tell) -> None:
    ledger = _ledger(Store.open(folder / "caseload.armrise"))
    for number in range(1000):
        both = [
            Contact(on=TODAY, recorded_at=NOW, recorded_on=TODAY, outcome=outcome, note=f"{number}")
            for outcome in ("no answer", "spoke")
        ]
        ids = ledger.append(HEAD.code, both)
        tell(",".join(map(str, ids)))


def _appended(folder: Path, told: list[str]) -> Iterator[str]:
    store = Store.open(folder / "caseload.armrise")
    with store.reading() as connection:
        rows = connection.execute("SELECT id, batch FROM entry").fetchall()
    there = {entry_id for entry_id, _ in rows}
    yield from (f"entry {one} was told and is lost" for line in told for one in _missing(line, there))
    sizes: dict[int, int] = {}
    for _, batch in rows:
        sizes[batch] = sizes.get(batch, 0) + 1
    yield from (f"action {batch} is half there" for batch, size in sizes.items() if size != 2)
    yield from _unsound(folder / "caseload.armrise")


def _missing(line: str, there: set[int]) -> list[int]:
    return [number for number in map(int, line.split(",")) if number not in there]


def _unsound(path: Path) -> Iterator[str]:
    found = verify(driver_of(path))
    if not found.sound:
        yield f"not sound: {found.faults[0]}"


# taking a file


def _some_cases() -> CaseloadFile:
    whole = caseload_file.read(caseload_file.demo_path())
    return replace(whole, cases=whole.cases[:4], fictional=False)


def _load(folder: Path, tell: Tell) -> None:
    take_whole(Store.open(folder / "caseload.armrise"), _some_cases())
    tell("4")


def _loaded(folder: Path, told: list[str]) -> Iterator[str]:
    with Store.open(folder / "caseload.armrise").reading() as connection:
        cases = connection.execute("SELECT count(*) FROM cases").fetchone()[0]
        entries = connection.execute("SELECT count(*) FROM entry").fetchone()[0]
    whole = sum(len(case.entries) for case in _some_cases().cases)
    if (cases, entries) not in {(1, 0), (5, whole)}:
        yield f"half a file was taken: {cases} cases, {entries} entries"
    if told and cases == 1:
        yield "a file that was told to be taken is lost"
    yield from _unsound(folder / "caseload.armrise")


# upgrading an older store


def _older_store(folder: Path) -> None:
    (folder / "caseload.armrise").write_bytes(gzip.decompress(FIXTURE.read_bytes()))


def _upgrade(folder: Path, tell: Tell) -> None:
    Store.open(folder / "caseload.armrise")
    tell("upgraded")


def _upgraded(folder: Path, _told: list[str]) -> Iterator[str]:
    with Store.open(folder / "caseload.armrise").reading() as connection:
        here = connection.execute("SELECT count(*), max(id) FROM entry").fetchone()
    with tempfile.TemporaryDirectory() as beside:
        _older_store(Path(beside))
        with Store.open(Path(beside) / "caseload.armrise").reading() as connection:
            wanted = connection.execute("SELECT count(*), max(id) FROM entry").fetchone()
    if here != wanted:
        yield f"entries after the upgrade: {here[0]}, before {wanted[0]}"
    yield from _unsound(folder / "caseload.armrise")


# backing up and restoring


def _filled_store(folder: Path) -> None:
    _small_store(folder)
    take_whole(Store.open(folder / "caseload.armrise"), _some_cases())
    (folder / "backups").mkdir(mode=0o700)


def _back_up(folder: Path, tell: Tell) -> None:
    store = Store.open(folder / "caseload.armrise")
    for number in range(100):
        made = back_up(store, [folder / "backups"], NOW + timedelta(seconds=number))
        tell(str(made.good[0].file))


def _backed_up(folder: Path, told: list[str]) -> Iterator[str]:
    yield from (f"{Path(file).name} was told and is lost" for file in told[-1:] if not Path(file).is_file())
    for _, copy in copies_in(folder / "backups", "caseload"):
        yield from _unsound(copy)
    yield from _unsound(folder / "caseload.armrise")


def _store_and_copy(folder: Path) -> None:
    _small_store(folder)
    store = Store.open(folder / "caseload.armrise")
    (folder / "backups").mkdir(mode=0o700)
    back_up(store, [folder / "backups"], NOW)
    take_whole(store, _some_cases())


def _restore(folder: Path, tell: Tell) -> None:
    ((_, copy),) = copies_in(folder / "backups", "caseload")
    put_back(plan(copy, folder / "caseload.armrise"), NOW)
    tell("restored")


def _restored(folder: Path, told: list[str]) -> Iterator[str]:
    held = {
        path.name: found
        for path in sorted(folder.glob("*.armrise*"))
        if not path.name.endswith(COMPANIONS) and (found := look(path, read_only=False).held)
    }
    there = held.get("caseload.armrise")
    if there is None:
        yield f"no store lies in the place: {', '.join(held) or 'nothing'} is beside it"
        return
    if told and there.entries:
        yield "what was told to be restored is not in place"
    if not any(one.entries for one in held.values()):
        yield "the store of before is nowhere"
    yield from _unsound(folder / "caseload.armrise")


# writing a caseload file


def _export(folder: Path, tell: Tell) -> None:
    text = as_text(_some_cases())
    for number in range(1000):
        write_private(folder / "out.json", text, "caseload", MARK)
        tell(str(number))


def _exported(folder: Path, told: list[str]) -> Iterator[str]:
    file = folder / "out.json"
    if told and not file.exists():
        yield "a file that was told to be written is lost"
    if file.exists() and file.read_text(encoding="utf-8") != as_text(_some_cases()):
        yield "half a file is there"


KINDS = (
    Kind("append", _small_store, _append, _appended),
    Kind("load", _small_store, _load, _loaded),
    Kind("upgrade", _older_store, _upgrade, _upgraded),
    Kind("backup", _filled_store, _back_up, _backed_up),
    Kind("restore", _store_and_copy, _restore, _restored),
    Kind("export", lambda folder: None, _export, _exported),
)


def kill(kind: Kind, laid: Path, after: float) -> Kill:
    """Do the work in a copy of the folder ``laid``, kill it after so many seconds, and look at it."""
    with tempfile.TemporaryDirectory() as room:
        folder = Path(room) / "folder"
        shutil.copytree(laid, folder)
        told = _run(kind, folder, after)
        return Kill(kind.name, len(told), tuple(kind.faults(folder, told)))


def _run(kind: Kind, folder: Path, after: float) -> list[str]:
    """What the work told until it was killed, or ended."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        _work(kind, folder, writing)
    os.close(writing)
    time.sleep(after)
    with contextlib.suppress(ProcessLookupError):
        os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reading, encoding="utf-8") as pipe:
        lines = pipe.read()
    return lines.split("\n")[:-1]  # the last one may be half told


def _work(kind: Kind, folder: Path, writing: int) -> None:
    code = 1
    try:
        kind.work(folder, lambda line: os.write(writing, f"{line}\n".encode()) and None)
        code = 0
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    finally:
        os._exit(code)


def kills(number: int, seed: int = 0, kinds: tuple[Kind, ...] = KINDS) -> Iterator[Kill]:
    """``number`` kills, the kinds by turns, each at a moment of its work drawn by the seed."""
    draw = Random(seed)
    load()
    _some_cases()
    with tempfile.TemporaryDirectory() as room:
        lasts: dict[str, float] = {}
        for kind in kinds:
            laid = Path(room) / kind.name
            laid.mkdir()
            kind.lay(laid)
            lasts[kind.name] = _lasts(kind, laid)
        for place in range(number):
            kind = kinds[place % len(kinds)]
            yield kill(kind, Path(room) / kind.name, draw.uniform(0, lasts[kind.name] * LONGER))


def _lasts(kind: Kind, laid: Path) -> float:
    """Seconds until the work, undisturbed, has told something; three times that for work that goes on."""
    with tempfile.TemporaryDirectory() as room:
        folder = Path(room) / "folder"
        shutil.copytree(laid, folder)
        reading, writing = os.pipe()
        began = time.monotonic()
        child = os.fork()
        if child == 0:
            _work(kind, folder, writing)
        os.close(writing)
        told = os.read(reading, 1)
        took = time.monotonic() - began
        os.close(reading)
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        if not told:
            raise RuntimeError(f"the work {kind.name} told nothing")
    return took * (3 if kind.name in {"append", "backup", "export"} else 1)


def main(number: int = 300, seed: int = 0) -> int:
    """Print a line for each kind, and every fault; 1 when there is one."""
    counted: dict[str, list[int]] = {kind.name: [0, 0, 0] for kind in KINDS}
    for place, one in enumerate(kills(number, seed)):
        counts = counted[one.kind]
        counts[0] += 1
        counts[1] += one.done
        counts[2] += bool(one.faults)
        for fault in one.faults:
            print(f"kill {place} of seed {seed}, {one.kind}: {fault}")
    for name, (times, done, bad) in counted.items():
        print(f"{name:8} {times:6} killed, {done:8} told done, {bad} with a fault")
    return int(any(bad for *_, bad in counted.values()))


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])))
