"""What a disk may hold after a power cut, given what was asked of it until then.

What was written to a file before its last sync is there. Of what was written since, each write is there, or
lost, or torn at the sectors of a disk (512 bytes), whatever became of those before and after it; the length
of a file may be kept without its content. Names are there once their folder was synced; of those given since,
the first some are there, in the order in which they were given, as a journal keeps them. That a sync of a
file keeps its name too, as most file systems have it, is not counted on. No rename is half there.
"""

from __future__ import annotations

import posixpath
from collections.abc import Sequence
from random import Random
from typing import NamedTuple

SECTOR = 512
FOLDER = -1
"""Stands for a folder where a name leads to one."""


class Write(NamedTuple):
    """Bytes put into a file."""

    file: int
    at: int
    data: bytes


class Size(NamedTuple):
    """A file cut, or made longer."""

    file: int
    size: int


class Sync(NamedTuple):
    """A file synced."""

    file: int


class Names(NamedTuple):
    """Names given and taken at once, relative to the folder; to a file, a folder, or nothing (None)."""

    to: tuple[tuple[str, int | None], ...]


class SyncFolder(NamedTuple):
    """A folder synced; "" is the outermost."""

    folder: str


class Told(NamedTuple):
    """Something was said to be done."""

    line: str


Event = Write | Size | Sync | Names | SyncFolder | Told


class Recording(NamedTuple):
    """What lay there at the beginning, durably, and what was asked of the disk, in order."""

    names: dict[str, int]
    contents: dict[int, bytes]
    events: Sequence[Event]

    def told(self, cut: int) -> list[str]:
        """What was said to be done in the first ``cut`` events."""
        return [event.line for event in self.events[:cut] if isinstance(event, Told)]


State = dict[str, bytes | None]
"""The files by their names; None is a folder."""
MODES = ("lost", "kept", "mixed", "mixed", "torn")
"""What becomes of the writes since the last sync: none, all, some, some and some of them torn."""


def state(recording: Recording, cut: int, draw: Random, mode: str = "") -> State:
    """One state that a cut after the first ``cut`` events may leave."""
    how = mode or draw.choice(MODES)
    events = recording.events[:cut]
    names = _names(recording, events, draw, how)
    content = {file: _content(recording, events, file, draw, how) for file in set(names.values())}
    return {name: None if file == FOLDER else content[file] for name, file in sorted(names.items())}


def _names(recording: Recording, events: Sequence[Event], draw: Random, how: str) -> dict[str, int]:
    synced: dict[str, int] = {}
    for place, event in enumerate(events):
        if isinstance(event, SyncFolder):
            synced[event.folder] = place
    until: dict[str, int] = {}
    names = dict(recording.names)
    for place, event in enumerate(events):
        if not isinstance(event, Names):
            continue
        folder = posixpath.dirname(event.to[0][0])
        if folder not in until:
            first = synced.get(folder, -1)
            ends = {"lost": first, "kept": len(events)}
            until[folder] = ends.get(how, draw.randint(first, len(events)))
        if place <= until[folder]:
            for name, file in event.to:
                if file is None:
                    names.pop(name, None)
                else:
                    names[name] = file
    folders = {name for name, file in names.items() if file == FOLDER} | {""}
    return {name: file for name, file in names.items() if posixpath.dirname(name) in folders}


def _content(recording: Recording, events: Sequence[Event], file: int, draw: Random, how: str) -> bytes:
    own = [(place, event) for place, event in enumerate(events) if _is_of(event, file)]
    synced = max((place for place, event in own if isinstance(event, Sync)), default=-1)
    content = bytearray(recording.contents.get(file, b""))
    for place, event in own:
        if isinstance(event, Sync):
            continue
        if place < synced or how == "kept":
            _apply(content, event)
        elif how != "lost":
            match draw.randrange(3 if how == "torn" else 2):
                case 0:
                    _apply(content, event)
                case 2 if isinstance(event, Write):
                    for part in _torn(event, draw):
                        _apply(content, part)
                case _ if isinstance(event, Write) and draw.random() < 0.2:
                    _lengthen(content, event.at + len(event.data))
                case _:
                    pass
    return bytes(content)


def _is_of(event: Event, file: int) -> bool:
    return isinstance(event, (Write, Size, Sync)) and event.file == file


def _torn(write: Write, draw: Random) -> list[Write]:
    """The sectors of a write that are there: the first some, or any."""
    parts: list[Write] = []
    place = write.at
    end = write.at + len(write.data)
    while place < end:
        until = min(end, (place // SECTOR + 1) * SECTOR)
        parts.append(Write(write.file, place, write.data[place - write.at : until - write.at]))
        place = until
    if draw.random() < 0.5:
        return parts[: draw.randint(0, len(parts))]
    return [part for part in parts if draw.random() < 0.5]


def _apply(content: bytearray, event: Event) -> None:
    if isinstance(event, Size):
        del content[event.size :]
        _lengthen(content, event.size)
    elif isinstance(event, Write):
        _lengthen(content, event.at)
        content[event.at : event.at + len(event.data)] = event.data


def _lengthen(content: bytearray, size: int) -> None:
    content.extend(bytes(max(0, size - len(content))))
