"""The list as it is printed, kept where it was judged as a whole: printed again while nothing is another.

Nobody looks behind a printed list as the screen does behind a kept one. So what is printed from here is the
text of a list of which every case was judged from the record under the very mark the store bears now: no
entry, setting, rule, date or program has come in between. Anything else is judged.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

from armrise.store.caseload.mark import Mark, mark_of
from armrise.store.caseload.recorded import newest_recorded
from armrise.store.kept.digest import digest
from armrise.store.kept.file import Busy, Doubt, KeptFile, file_beside

if TYPE_CHECKING:
    from armrise.store.database.place import Store

NAMES = TEXT, JSON = "text", "json"
"""What is printed: text for people, of :data:`WIDE` columns unless the name says another number, and JSON."""
WIDE = 80


def printed(store: Store, rules: str, today: date, name: str) -> str | None:
    """What is printed of the list on a clinic date; ``rules``: which are in force, by their digest.

    None where nothing is kept that may be printed. A damaged file is cleared. Raises a store error where the
    store itself cannot be read.
    """
    file = _file(store)
    if file is None or not rules:
        return None
    with store.several_readings():
        with store.reading() as connection:
            mark = mark_of(connection, rules, today)
        under = _under(store, mark) if mark is not None else ""
    try:
        packed = file.printed(today, name, under)
        return None if packed is None else zlib.decompress(packed).decode()
    except Busy:
        return None
    except (Doubt, zlib.error, UnicodeDecodeError):
        file.forget()
        return None


def keep_printed(store: Store, mark: Mark, texts: Mapping[str, str], since: date | None = None) -> bool:
    """Keep what was made of a list of which every case was judged for this mark; False where it is not kept.

    What is kept so of clinic dates before ``since`` goes, without it before that of the mark. Raises a store
    error where the store cannot be read.
    """
    file = _file(store)
    if file is None or not mark.rules:
        return False
    packed = {name: zlib.compress(text.encode()) for name, text in texts.items()}
    # held open, so that it is the one the list was judged from, and nobody can encrypt it in between
    with store.several_readings(), store.reading() as connection:
        if mark_of(connection, mark.rules, mark.today) != mark:
            return False
        return file.put_printed(mark.today, _under(store, mark), packed, since or mark.today)


def _file(store: Store) -> KeptFile | None:
    """A listing opens the store for reading only; beside one that may be written to it keeps what it made."""
    return file_beside(store) if store.driver.may_write() else None


def _under(store: Store, mark: Mark) -> str:
    """What a printed list rests on: a mark, and for its head how new the data are on the clinic's clock."""
    return digest(f"{mark.digest} {newest_recorded(store)}")
