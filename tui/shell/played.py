"""The demonstration as it was made for an earlier start, ready to be copied: its store and the kept list.

Making it takes three times as long as showing it. So the next start's is made in spare time, into the user's
folder of caches, as it is made otherwise: read, checked, written and judged. It is taken only where the
program, the caseload file and the rules in force are the same, and as it was written to the byte; else it is
made as if there were none. What is played is a copy, which is thrown away. There is no patient in it.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from armrise.store.files.beside import KEPT, kept_beside
from armrise.store.files.whole import draft_beside, put
from armrise.store.record.digests import sha256
from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.database.place import Store

BEGINS, ENDS = "demonstration-", ".armrise"
DIGITS = 32
"""So many digits of a digest stand in a name, 128 bits."""


class Ready(NamedTuple):
    """A demonstration that lies ready: the clinic date it plays, and the bytes of its store and kept list."""

    day: date
    store: bytes
    kept: bytes


def caches() -> Path:
    """The user's folder of what may go at any time."""
    import platformdirs

    return Path(platformdirs.user_cache_dir("armrise", appauthor=False))


class Played:
    """The demonstration of one start, under the rules in force, on the date ``as_of`` or near today."""

    def __init__(self, folder: Path, as_of: date | None) -> None:
        self._folder = folder
        self._as_of = as_of
        self._was_ready = False

    def store(self) -> Store:
        """As :func:`armrise.tui.shell.opening.demonstration`: what lies ready where it is the same."""
        from armrise.tui.shell.opening import demonstration, looked_at_yesterday

        store = _copied(self._folder, self._as_of)
        if store is None:
            return demonstration(self._folder, self._as_of)
        self._was_ready = True
        return looked_at_yesterday(store)

    def make_ahead(self, pause: Callable[[], None]) -> None:
        """Have one lie ready for the next start; as :func:`make_ready`."""
        if not self._was_ready:
            make_ready(self._as_of, pause)


def _copied(folder: Path, as_of: date | None) -> Store | None:
    from armrise.store.database.place import Store, StoreError

    ready = _ready()
    if ready is None or as_of not in (None, ready.day):
        return None
    path = folder / "caseload.armrise"
    try:
        for place, content in ((path, ready.store), (kept_beside(path), ready.kept)):
            with open(place, "xb", opener=_private) as file:
                file.write(content)
        store = Store.open(path)
        if as_of is not None or _newest(store, ready.day) == ready.day:
            return store
    except (OSError, StoreError):
        pass
    _clear(folder, path.name)
    return None


def _private(name: str, flags: int) -> int:
    return os.open(name, flags, 0o600)


def _newest(store: Store, day: date) -> date:
    """The clinic date that a demonstration has today."""
    from armrise.store.record.clock import clinic_zone, today_in, whole_weeks_on

    return whole_weeks_on(day, today_in(clinic_zone(store.zone)))


def _ready() -> Ready | None:
    """What lies ready of this program under the rules in force, whole; None where nothing does."""
    with suppress(OSError, ValueError):
        for path in caches().glob(f"{BEGINS}{_key()}*{ENDS}"):
            _, _, year, month, day, said = path.name.removesuffix(ENDS).split("-")
            store, kept = path.read_bytes(), kept_beside(path).read_bytes()
            if said == _digest(store, kept):
                return Ready(date(int(year), int(month), int(day)), store, kept)
    return None


def _key() -> str:
    """A digest of all that a demonstration follows from. Raises OSError, ValueError where it is not told."""
    from armrise.store.caseload.mark import program
    from armrise.store.exchange.into.demo import demo_path
    from armrise.store.rules.folder.place import default_folder, digest_in_force
    from armrise.tui.shell.intake import rules_folder

    rules = digest_in_force(rules_folder() or default_folder())
    if not rules:
        raise ValueError("which rules are in force is not known")
    return _digest(demo_path().read_bytes(), program().encode(), rules.encode())


def _digest(*parts: bytes) -> str:
    made = sha256()
    for part in parts:
        made.update(len(part).to_bytes(8, "big") + part)
    return made.hexdigest()[:DIGITS]


def make_ready(as_of: date | None, pause: Callable[[], None]) -> None:
    """Make the demonstration of the next start, in the place of what lay ready.

    ``pause`` is called before each case that is judged, and stops it by raising. Raises a store error, a rule
    error, OSError.
    """
    from armrise.store.files.throwaway import throwaway
    from armrise.tui.shell.intake import demo_store

    folder, key = caches(), _key()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    with throwaway() as making:
        store = demo_store(making, as_of)
        day = store.today()
        _keep_judged(store, pause)
        contents = store.path.read_bytes(), kept_beside(store.path).read_bytes()
    name = f"{BEGINS}{key}-{day.isoformat()}-{_digest(*contents)}{ENDS}"
    _clear(folder, BEGINS)
    for end, content in ((KEPT, contents[1]), ("", contents[0])):  # the store last: it is what is looked for
        _write(folder / f"{name}{end}", content)


def _keep_judged(store: Store, pause: Callable[[], None]) -> None:
    """Judge the list and keep it beside the store, everything in the two files alone."""
    from armrise.store.caseload.judged import judged
    from armrise.store.database.sqlite_copy import alone_with
    from armrise.store.kept.kept import KeptLists
    from armrise.store.kept.said import said_of
    from armrise.tui.shell.intake import load_rules

    rules = load_rules()
    made = judged(store, rules, store.today(), pause=pause)
    if made.mark is not None:
        KeptLists(store, demonstration=True).keep(made.mark, made.standings, said_of(rules))
    with alone_with(partial(store.driver.connect, lasting=False)):
        pass


def _write(path: Path, content: bytes) -> None:
    draft = draft_beside(path)
    try:
        with open(draft, "xb", opener=_private) as file:
            file.write(content)
        put(draft, path, over=True, lasting=False)
    finally:
        draft.unlink(missing_ok=True)


def _clear(folder: Path, begins: str) -> None:
    for path in folder.glob(f"{begins}*"):
        with suppress(OSError):
            path.unlink()
