"""The tables of the files that came with the program, kept beside them as Python keeps its own code.

Reading TOML takes as long as judging ten cases, and the shipped files change with the program alone. So their
tables lie in ``__pycache__``, where whoever may write there may write the program itself. What lies there
counts only for this very text and as it was written, by the digests of both; in any doubt, and for a file of
the clinic's own, the text is read. Nothing is kept where Python keeps nothing.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from contextlib import suppress
from datetime import date, datetime
from decimal import Decimal
from importlib.util import cache_from_source
from pathlib import Path
from typing import Any, cast

from armrise.store.record.digests import blake2b
from armrise.store.rules.folder.place import SHIPPED

FORM = b"1\n"
"""How the tables are written down; those of another form are another digest."""
_OURS = (SHIPPED, SHIPPED.with_name("words"))
"""The folders of the files that came with the program."""
Tables = dict[str, Any]
_Place = list[str | int]


def tables(path: Path, raw: bytes) -> Tables:
    """What the text of a rule file states, its numbers exact. Raises as :func:`tomllib.loads` does."""
    kept = _place(path) if path.parent in _OURS else None
    found = _kept(kept, raw) if kept else None
    if found is None:
        import tomllib

        found = tomllib.loads(raw.decode("utf-8-sig"), parse_float=Decimal)
        if kept is not None and _may_keep(kept):
            _keep(kept, raw, found)
    return found


def refusal(error: Exception) -> str:
    """Why a text could not be read, for a sentence."""
    import tomllib

    if isinstance(error, tomllib.TOMLDecodeError):
        return str(error)[:120]
    return "a number or a nesting beyond all measure"


def _place(path: Path) -> Path | None:
    with suppress(NotImplementedError):  # a Python that keeps nothing
        return Path(cache_from_source(path)).with_name(f"{path.name}.tables")
    return None


def _kept(place: Path, raw: bytes) -> Tables | None:
    """What is kept of this text; None where that is not sure."""
    with suppress(OSError, ValueError, LookupError, TypeError):
        told, _, body = place.read_bytes().partition(b"\n")
        if told == _digest(raw, body):
            return _turned_back(body)
    return None


def _may_keep(place: Path) -> bool:
    folder = place.parent if place.parent.exists() else place.parent.parent
    return not sys.dont_write_bytecode and os.access(folder, os.W_OK)


def _keep(place: Path, raw: bytes, found: Tables) -> None:
    """Keep the tables, where they come back exactly as they are and the folder may be written to."""
    draft = place.with_name(f"{place.name}.{os.getpid()}")
    with suppress(OSError, ValueError, TypeError):
        body = _turned(found)
        if repr(_turned_back(body)) != repr(found):
            return
        place.parent.mkdir(parents=True, exist_ok=True)
        try:
            draft.write_bytes(_digest(raw, body) + b"\n" + body)
            draft.replace(place)
        except OSError:
            draft.unlink(missing_ok=True)


def _digest(raw: bytes, body: bytes) -> bytes:
    told = blake2b(FORM, digest_size=32)
    for part in (raw, body):
        told.update(f"{len(part)}\n".encode())
        told.update(part)
    return told.hexdigest().encode()


def _turned(found: Tables) -> bytes:
    """Tables as JSON, which has numbers as TOML writes them but no dates: they follow with their places."""
    dates = [(place, one.isoformat()) for place, one in _dates(found, []) if type(one) is date]
    return json.dumps([_plain(found), dates], ensure_ascii=False, separators=(",", ":")).encode()


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in cast(Tables, value).items()}
    if isinstance(value, list):
        return [_plain(one) for one in cast(list[Any], value)]
    if isinstance(value, Decimal):
        return float(value)
    return None if isinstance(value, date | datetime) else value


def _dates(value: Any, place: _Place) -> Iterator[tuple[_Place, date]]:
    if isinstance(value, date):
        yield place, value
    elif isinstance(value, dict):
        for key, one in cast(Tables, value).items():
            yield from _dates(one, [*place, key])
    elif isinstance(value, list):
        for number, one in enumerate(cast(list[Any], value)):
            yield from _dates(one, [*place, number])


def _turned_back(body: bytes) -> Tables:
    found, dates = json.loads(body, parse_float=Decimal)
    for (*above, last), told in dates:
        inner = found
        for step in above:
            inner = inner[step]
        inner[last] = date.fromisoformat(told)
    return found
