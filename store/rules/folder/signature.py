"""The signature under a set of rule files: a digest of them, and the head of ``rules.toml`` rewritten.

A signature stands for what was signed. The digest covers every rule file except the lines of the signature
themselves, so that a file changed afterwards is seen to be changed. Line endings and a byte order mark do not
count: an editor may change them without anybody wanting it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from armrise.store.record.bounded import read_bounded
from armrise.store.record.digests import sha256
from armrise.store.rules.folder.place import COMMON, LARGEST
from armrise.store.rules.table import RuleFileError

KIND = "sha256"
NAME_LONGEST = 80
_SIGNATURE = re.compile(r'^\s*"?signed_(?:by|on|digest)"?\s*=')
_VERSION = re.compile(r'^\s*"?version"?\s*=')
_TABLE = re.compile(r"^\s*\[")


def read_files(folder: Path) -> dict[str, str]:
    """The text of every rule file of a folder by its name, with plain line ends."""
    return {path.name: _plain(read_bounded(path, LARGEST)) for path in sorted(folder.glob("*.toml"))}


def _plain(raw: bytes) -> str:
    """Text with plain line ends; bytes that are no text keep a value of their own in the digest."""
    return raw.decode("utf-8-sig", errors="surrogateescape").replace("\r\n", "\n").replace("\r", "\n")


def digest(files: Mapping[str, str]) -> str:
    """What the files say, as "sha256:" and 64 digits, the lines of the signature left out."""
    made = sha256()
    for name in sorted(files):
        text = files[name]
        if name == COMMON:
            head, rest = _head(text)
            text = "\n".join([line for line in head if not _SIGNATURE.match(line)] + rest)
        raw = text.encode("utf-8", errors="surrogateescape")
        made.update(f"{name}\0{len(raw)}\0".encode())
        made.update(raw)
    return f"{KIND}:{made.hexdigest()}"


def of_folder(folder: Path) -> str:
    """The digest of the rule files of a folder."""
    return digest(read_files(folder))


def _head(text: str) -> tuple[list[str], list[str]]:
    """The lines before the first table, and the rest."""
    lines = text.split("\n")
    at = next((n for n, line in enumerate(lines) if _TABLE.match(line)), len(lines))
    return lines[:at], lines[at:]


def as_version(text: str, version: str) -> str:
    """``rules.toml`` as the next version: its number raised, its signature empty, every remark kept."""
    head, rest = _head(text)
    head = [line for line in head if not _SIGNATURE.match(line)]
    at = _line_of(head, _VERSION)
    head[at : at + 1] = [f'version = "{version}"', 'signed_by = ""']
    return _checked("\n".join(head + rest), {"version": version, "signed_by": ""})


def as_signed(text: str, name: str, on: date, of: str) -> str:
    """``rules.toml`` with the signature of ``name``; ``of`` is the digest of what is signed."""
    head, rest = _head(text)
    head = [line for line in head if not _SIGNATURE.match(line)]
    at = _line_of(head, _VERSION) + 1
    told = json.dumps(name, ensure_ascii=False)
    head[at:at] = [f"signed_by = {told}", f"signed_on = {on.isoformat()}", f'signed_digest = "{of}"']
    wanted = {"signed_by": name, "signed_on": on, "signed_digest": of}
    return _checked("\n".join(head + rest), wanted)


def _line_of(head: list[str], wanted: re.Pattern[str]) -> int:
    at = next((n for n, line in enumerate(head) if wanted.match(line)), None)
    if at is None:
        raise RuleFileError(f"{COMMON}, version: is missing, needed is a line of its own for it.")
    return at


def _checked(text: str, wanted: Mapping[str, object]) -> str:
    """The text, when it says what was meant; the head may have been written in a way not foreseen."""
    import tomllib

    try:
        said = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        said = {}
    for key, value in wanted.items():
        if said.get(key) != value:
            raise RuleFileError(f"{COMMON}, {key}: cannot be rewritten, needed is a line of its own for it.")
    return text
