"""What a program asks of the disk, recorded by ``strace`` and read from its log.

The log is held to what it led to: played back it has to give every file as the program left it, or nothing is
built from it. ``python -m tests.soak.power.recorded KIND FOLDER`` is the work that is recorded.
"""

from __future__ import annotations

import os
import posixpath
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from random import Random

from tests.soak.power.disk import (
    FOLDER,
    Event,
    Names,
    Recording,
    Size,
    State,
    Sync,
    SyncFolder,
    Told,
    Write,
    state,
)
from tests.soak.works.every import KINDS
from tests.soak.works.kind import Kind, hold_keys

ROUNDS = {"append": 12, "append, encrypted": 12, "backup": 3, "export": 4}
"""So often work that goes on is done; backups a second apart."""
CALLS = (
    "openat,open,creat,close,dup,dup2,dup3,lseek,write,pwrite64,writev,pwritev,ftruncate,truncate,fallocate,"
    "fsync,fdatasync,sync,sync_file_range,rename,renameat,renameat2,link,linkat,unlink,unlinkat,mkdir,mkdirat,"
    "rmdir,copy_file_range,sendfile"
)
LINE = re.compile(r"(\w+)\((.*)\)\s+= (-?\d+)")
TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(\.\.\.)?')
SHM = "-shm"
"""How the name of a file ends that SQLite makes anew whenever nobody has the store open."""


class NotHere(Exception):
    """Nothing can be recorded here; why, in a sentence."""


def record(kind: Kind, laid: Path, room: Path) -> Recording:
    """Have the work done in a copy of the folder ``laid``. Raises :class:`NotHere` without ``strace``."""
    if not shutil.which("strace"):
        raise NotHere("strace is not installed")
    folder = Path(shutil.copytree(laid, room / "recorded")).resolve()
    before = _files(folder)
    log = room / "log"
    own = [sys.executable, "-m", "tests.soak.power.recorded", kind.name, str(folder)]
    done = subprocess.run(
        ["strace", "-o", str(log), "-xx", "-s", "10000000", "-e", f"trace={CALLS}", *own],
        stdout=subprocess.PIPE,
        check=False,
    )
    if done.returncode:
        raise NotHere(f"the work {kind.name} could not be recorded (exit code {done.returncode})")
    with log.open(encoding="ascii") as lines:
        made = read(lines, str(folder), before)
    played, there = state(made, len(made.events), Random(0), "kept"), _files(folder)
    if {n: c for n, c in played.items() if not n.endswith(SHM)} != there or not made.told(len(made.events)):
        raise RuntimeError(f"the log of {kind.name} does not lead to what it left")
    shutil.rmtree(folder)
    log.unlink()
    return made


def read(log: Iterable[str], folder: str, before: State) -> Recording:
    """What the lines of a log say of the files in a folder, given what lay there before."""
    reader = _Reader(folder, before)
    for line in log:
        reader.read(line)
    contents = {file: before[name] or b"" for name, file in reader.first.items()}
    return Recording(reader.first, contents, reader.events)


def _files(folder: Path) -> State:
    found = {str(path.relative_to(folder)): path for path in folder.rglob("*") if not path.name.endswith(SHM)}
    return {name: None if path.is_dir() else path.read_bytes() for name, path in sorted(found.items())}


class _Reader:
    """Turns the calls of a log into what was asked of the files in a folder."""

    def __init__(self, folder: str, before: State) -> None:
        self.folder = folder
        self.first = {
            name: FOLDER if held is None else number for number, (name, held) in enumerate(before.items())
        }
        self.names = dict(self.first)
        self.files = len(before)
        self.events: list[Event] = []
        self.open: dict[int, tuple[str, int]] = {}
        self.at: dict[int, int] = {}
        self.ends: dict[int, int] = {self.first[name]: len(held or b"") for name, held in before.items()}

    def read(self, line: str) -> None:
        """Take in one line of the log."""
        if not (found := LINE.match(line)):
            return
        call, given, result = found[1], found[2], int(found[3])
        if result < 0:
            return
        texts = [bytes.fromhex(text.replace("\\x", "")) for text, cut in TEXT.findall(given) if not cut]
        numbers = [int(part) for part in re.findall(r"(?<![\w\"\\])-?\d+(?![\w\"\\])", TEXT.sub("", given))]
        self.events += self._asked(call, given, result, texts, numbers)

    def _asked(
        self, call: str, given: str, result: int, texts: list[bytes], numbers: list[int]
    ) -> Iterator[Event]:
        match call:
            case "openat" | "open" | "creat":
                yield from self._opened(texts[0], given, result)
            case "close":
                self.open.pop(numbers[0], None)
            case "dup" | "dup2" | "dup3" if numbers[0] in self.open:
                raise RuntimeError("a file is open twice: that cannot be followed")
            case "lseek" if numbers[0] in self.open:
                self.at[numbers[0]] = result
            case "write" if numbers[0] == 1:
                yield from (Told(one) for one in texts[0].decode().splitlines())
            case "write" | "pwrite64" | "ftruncate" | "fsync" | "fdatasync" if numbers[0] in self.open:
                yield from self._of_open(call, result, texts, numbers)
            case _ if call.startswith(("rename", "link", "unlink", "mkdir")):
                yield from self._named(call, [self._inside(text) for text in texts])
            case _ if numbers and numbers[0] in self.open:
                raise RuntimeError(f"{call} cannot be followed")
            case _:
                pass

    def _inside(self, path: bytes) -> str | None:
        """The name within the folder; None outside of it."""
        name = os.fsdecode(path)
        if name == self.folder:
            return ""
        return name.removeprefix(self.folder + "/") if name.startswith(self.folder + "/") else None

    def _opened(self, path: bytes, given: str, handle: int) -> Iterator[Event]:
        name = self._inside(path)
        self.open.pop(handle, None)
        if name is None:
            return
        if name == "" or self.names.get(name) == FOLDER:
            self.open[handle] = (name, FOLDER)
            return
        if name not in self.names:
            self.files += 1
            self.names[name] = self.files
            self.ends[self.files] = 0
            yield Names(((name, self.files),))
        file = self.names[name]
        if "O_TRUNC" in given:
            self.ends[file] = 0
            yield Size(file, 0)
        self.open[handle] = (name, file)
        self.at[handle] = self.ends[file] if "O_APPEND" in given else 0

    def _of_open(self, call: str, result: int, texts: list[bytes], numbers: list[int]) -> Iterator[Event]:
        handle = numbers[0]
        name, file = self.open[handle]
        match call:
            case "fsync" | "fdatasync":
                yield SyncFolder(name) if file == FOLDER else Sync(file)
            case "ftruncate":
                self.ends[file] = numbers[1]
                yield Size(file, numbers[1])
            case _:
                at = numbers[-1] if call == "pwrite64" else self.at[handle]
                if call == "write":
                    self.at[handle] = at + result
                self.ends[file] = max(self.ends[file], at + result)
                yield Write(file, at, texts[0][:result])

    def _named(self, call: str, paths: list[str | None]) -> Iterator[Event]:
        if all(path is None for path in paths):
            return
        first, last = paths[0], paths[-1]
        assert first is not None, "a name from outside the folder"
        assert last is not None, "a name from outside the folder"
        if call.startswith("mkdir"):
            changes: tuple[tuple[str, int | None], ...] = ((first, FOLDER),)
        elif call.startswith("unlink"):
            changes = ((first, None),)
        elif call.startswith("link"):
            changes = ((last, self.names[first]),)
        else:
            changes = ((first, None), (last, self.names[first]))
        for name, file in changes:
            assert posixpath.dirname(name) == posixpath.dirname(changes[0][0]), "a name moved between folders"
            if file is None:
                self.names.pop(name, None)
            else:
                self.names[name] = file
        yield Names(changes)


def main(name: str, folder: str) -> None:
    """Do the work, so often as it is to be recorded, and end without cleaning up."""
    hold_keys()
    kind = next(kind for kind in KINDS if kind.name == name)
    left = ROUNDS.get(name, 1) if kind.goes_on else 2

    def tell(line: str) -> None:
        nonlocal left
        os.write(1, f"{line}\n".encode())
        left -= 1
        if not left:
            os._exit(0)

    kind.work(Path(folder), tell)
    os._exit(0)


if __name__ == "__main__":
    main(*sys.argv[1:])
