"""The list as it was last judged, from the file beside the store: looked at before any rule is read.

Used is only what this very store, under these rules, on this clinic date and by this program led to; what
came since names the people whose cases are to be judged before anything is shown. On any doubt the file is
cleared, and the list is judged as if it had never been there.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date
from typing import TYPE_CHECKING

from armrise.store.caseload.mark import Mark, mark_of, news_since
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing.triage import on_list
from armrise.store.clinic.standing.words import counts
from armrise.store.kept.codec import Codec
from armrise.store.kept.digest import digest
from armrise.store.kept.file import Busy, Doubt, KeptFile, file_beside
from armrise.store.kept.said import Said
from armrise.store.record.light import NamedTuple
from armrise.store.rules.do import Do

if TYPE_CHECKING:
    from armrise.store.database.place import Store

WAITING = "waiting"
"""The state of a referral that waits for a first visit, and what the head counts them under."""
SHARED = (Do,)
"""What many standings have in common."""
UNREADABLE = (ValueError, TypeError, LookupError, AttributeError)
"""What a text leads to that is none of these values."""


class Page(NamedTuple):
    """One kept list: what it rests on, and its rows by their digests, in the order of the list."""

    mark: Mark
    said: Said
    counts: tuple[tuple[str, int], ...]
    """What the head of the list counts."""
    listed: tuple[str, ...]
    off: tuple[str, ...]
    """Cases that were judged and are not on the list."""
    parts: tuple[str, ...]
    """What several rows have in common."""


class Kept:
    """A kept list that may be used, with what came since."""

    def __init__(self, lists: KeptLists, page: Page, news: frozenset[int]) -> None:
        self.page = page
        self.news = news
        """The ids of the cases to judge before it is shown; empty: it is the list."""
        self._lists = lists
        self._first: list[Standing] = []

    def rows(self, count: int | None = None) -> list[Standing]:
        """The first ``count`` cases of the list, or all; none is read twice.

        Raises :class:`Doubt`; the file is cleared then.
        """
        wanted = self.page.listed[len(self._first) : count]
        if wanted:
            self._first = self._first + self._lists.read(self.page.mark.today, wanted)
        return self._first[:count]

    def off(self) -> list[Standing]:
        """The cases that are not on the list. Raises as :meth:`rows`."""
        return self._lists.read(self.page.mark.today, self.page.off)


class KeptLists:
    """The lists kept of one store. It remembers what is kept of each case: most is the same next time.

    Nothing is kept of a store that is open for reading only, nor where :func:`file_beside` knows no file.
    """

    def __init__(self, store: Store, *, demonstration: bool = False) -> None:
        """``demonstration``: what is kept of it was made with it, and is thrown away with it."""
        self.file = None if store.read_only else file_beside(store, demonstration=demonstration)
        """None where nothing is kept."""
        self._store = store
        self._codec = Codec(SHARED)
        self._known: dict[tuple[date, str], tuple[Standing, str]] = {}

    def look(self, rules: str, today: date) -> Kept | None:
        """The list kept for a clinic date, where it may be used; ``rules``: which they are, by their digest.

        Raises a store error where the store itself cannot be read.
        """
        if self.file is None or not rules:
            return None
        try:
            page = self._page(self.file, today)
        except (Doubt, *UNREADABLE) as error:
            _clear_unless_busy(self.file, error)
            return None
        if page is None:
            return None
        with self._store.reading() as connection:
            now = mark_of(connection, rules, today)
            news = news_since(connection, page.mark, now) if now else None
        if news is None:
            self.file.forget()
            return None
        return Kept(self, page, news)

    def _page(self, file: KeptFile, today: date) -> Page | None:
        text = file.list_of(today)
        if text is None:
            return None
        page = self._codec.read(Page, text)
        if page.mark.today != today:
            raise Doubt("it is of another date")
        for part in file.rows_of(today, page.parts).values():
            self._codec.take(Do, part)
        return page

    def read(self, day: date, digests: Sequence[str]) -> list[Standing]:
        """The rows of these digests. Raises :class:`Doubt`; the file is cleared then."""
        assert self.file is not None
        try:
            texts = self.file.rows_of(day, digests)
            found = [self._codec.read(Standing, texts[one]) for one in digests]
        except (Doubt, *UNREADABLE) as error:
            _clear_unless_busy(self.file, error)
            raise Doubt("a row cannot be read") from None
        for one, standing in zip(digests, found, strict=True):
            self._known[day, standing.code] = standing, one
        return found

    def keep(
        self,
        mark: Mark,
        standings: Sequence[Standing],
        said: Said,
        days: Collection[date] = (),
    ) -> bool:
        """Keep a list beside those of ``days``; False where it is not kept.

        ``standings`` are all that were judged, in their order. The store is held open meanwhile: so it is
        the one they were judged from, and nobody can encrypt it in between. Raises a store error where it
        cannot be read.
        """
        if self.file is None or not mark.rules:
            return False
        rows = {self._digest(mark.today, standing): standing for standing in standings}
        on = {standing.code: standing for standing in on_list(standings)}
        off = {one: standing for one, standing in rows.items() if standing.code not in on}
        counted = counts(on.values()) | {WAITING: sum(one.status == WAITING for one in off.values())}
        parts = self._codec.parts
        listed = tuple(one for one in rows if one not in off)
        page = Page(mark, said, tuple(counted.items()), listed, tuple(off), tuple(parts))

        def text_of(one: str) -> str:
            return parts[one] if one in parts else self._codec.written(rows[one])

        with self._store.reading() as connection:
            now = mark_of(connection, mark.rules, mark.today)
            if now is None or news_since(connection, mark, now) is None:
                return False
            return self.file.put(mark.today, self._codec.written(page), [*parts, *rows], text_of, days)

    def _digest(self, day: date, standing: Standing) -> str:
        known = self._known.get((day, standing.code))
        if known is None or known[0] is not standing:
            known = self._known[day, standing.code] = standing, digest(self._codec.written(standing))
        return known[1]


def _clear_unless_busy(file: KeptFile, error: Exception) -> None:
    """Clear what is in doubt; not what somebody else is writing just now."""
    if not isinstance(error, Busy):
        file.forget()
