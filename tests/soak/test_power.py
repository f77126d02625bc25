"""What a power cut leaves: what was synced is there, what was not may be lost; and that is found out.

What a file system promises: POSIX.1-2017, fsync (the data of a file), and that a name is there once its
folder was synced, as Linux has it (fsync(2), notes).
"""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from armrise.store.exchange.out.caseload_json import as_text
from tests.soak.power.cuts import put
from tests.soak.power.disk import (
    MODES,
    SECTOR,
    Event,
    Names,
    Recording,
    State,
    Sync,
    SyncFolder,
    Told,
    Write,
    state,
)
from tests.soak.power.recorded import read
from tests.soak.works.kind import some_cases
from tests.soak.works.writing import EXPORT

OLD, NEW = b"old" * 1000, b"new" * 1000


def replaced(*, synced: bool, named: bool) -> Recording:
    """A file replaced by a draft: that is synced before it gets its name or not, its folder afterwards."""
    events: list[Event] = [Names((("draft", 2),)), Write(2, 0, NEW)]
    events += [Sync(2)] if synced else []
    events += [Names((("draft", None), ("file", 2)))]
    events += [SyncFolder("")] if named else []
    return Recording({"file": 1}, {1: OLD}, [*events, Told("done")])


def states(recording: Recording, cut: int, number: int = 200) -> list[State]:
    return [state(recording, cut, Random(seed)) for seed in range(number)]


def test_what_was_synced_is_there_whatever_becomes_of_the_rest() -> None:
    recording = replaced(synced=True, named=True)
    assert {after["file"] for after in states(recording, len(recording.events))} == {NEW}
    for cut in range(len(recording.events)):
        assert {after["file"] for after in states(recording, cut)} <= {OLD, NEW}


def test_a_name_without_its_content_is_among_what_a_cut_leaves() -> None:
    recording = replaced(synced=False, named=True)
    found = {after["file"] for after in states(recording, len(recording.events))}
    assert b"" in found
    assert NEW in found
    assert any(len(one or b"") > 0 and one not in (OLD, NEW) for one in found)


def test_a_name_whose_folder_was_not_synced_may_be_lost() -> None:
    recording = replaced(synced=True, named=False)
    assert {after["file"] for after in states(recording, len(recording.events))} == {OLD, NEW}


def test_writes_are_lost_by_themselves_and_torn_at_sectors() -> None:
    parts = [bytes([number]) * 2 * SECTOR for number in (1, 2, 3)]
    writes = [Write(1, 2 * SECTOR * number, part) for number, part in enumerate(parts)]
    recording = Recording({"file": 1}, {1: bytes(6 * SECTOR)}, writes)
    seen = {tuple(after["file"][::SECTOR]) for after in states(recording, 3, 2000) if after["file"]}
    assert (0, 0, 2, 2, 3, 3) in seen  # the first lost, those after it there
    assert (1, 1, 0, 2, 3, 3) in seen  # the second torn, and its end there
    assert all(all(sign in (0, number // 2 + 1) for number, sign in enumerate(one)) for one in seen)


@pytest.mark.parametrize("mode", dict.fromkeys(MODES))
def test_a_store_that_is_not_synced_is_found_out(mode: str, tmp_path: Path) -> None:
    """An export told to be done, whose draft was never synced: half a file, unless all was kept."""
    text = as_text(some_cases()).encode()
    events = [Names((("draft", 1),)), Write(1, 0, text), Names((("draft", None), ("out.json", 1)))]
    recording = Recording({}, {}, [*events, SyncFolder(""), Told("1")])
    found: set[str] = set()
    for seed in range(8):
        draw = Random(seed)
        put(state(recording, 5, draw, mode), tmp_path / f"{seed}", draw)
        found.update(EXPORT.faults(tmp_path / f"{seed}", recording.told(5)))
    assert found == (set() if mode == "kept" else {"half a file is there"})


LOG = """
openat(AT_FDCWD, "{/f/old}", O_RDWR|O_CLOEXEC) = 5
openat(AT_FDCWD, "{/f/a}", O_RDWR|O_CREAT|O_EXCL|O_CLOEXEC, 0600) = 3
openat(AT_FDCWD, "{/elsewhere}", O_RDWR|O_CREAT|O_CLOEXEC, 0600) = 4
write(4, "{not ours}", 8) = 8
write(3, "{one}", 3)        = 3
write(3, "{two}", 3)        = 3
pwrite64(5, "{OLD}", 3, 1)  = 3
ftruncate(5, 4)             = 0
pwrite64(9, "{x}", 1, 0)    = -1 EBADF (Bad file descriptor)
fdatasync(3)                = 0
close(3)                    = 0
rename("{/f/a}", "{/f/b}")  = 0
openat(AT_FDCWD, "{/f}", O_RDONLY|O_DIRECTORY|O_CLOEXEC) = 3
fsync(3)                    = 0
write(1, "{told\n}", 5)     = 5
unlink("{/f/old}")          = 0
+++ exited with 0 +++
"""


def hexed(log: str) -> str:
    parts = log.replace("{", "\0").replace("}", "\0").split("\0")
    coded = ["".join(f"\\x{byte:02x}" for byte in part.encode()) for part in parts[1::2]]
    return "".join(one for pair in zip(parts[::2], [*coded, ""], strict=True) for one in pair)


def test_a_log_is_read_as_what_was_asked_of_the_folder() -> None:
    recording = read(hexed(LOG).splitlines(), "/f", {"old": b"0123456789"})
    draft = Names((("a", 2),))
    assert recording.events == [
        draft,
        Write(2, 0, b"one"),
        Write(2, 3, b"two"),
        Write(0, 1, b"OLD"),
        (0, 4),
        Sync(2),
        Names((("a", None), ("b", 2))),
        SyncFolder(""),
        Told("told"),
        Names((("old", None),)),
    ]
    after = len(recording.events)
    assert state(recording, after, Random(0), "kept") == {"b": b"onetwo"}
    assert state(recording, after - 1, Random(0), "kept") == {"b": b"onetwo", "old": b"0OLD"}
    assert state(recording, after, Random(0), "lost") == {"b": b"onetwo", "old": b"0123456789"}
