"""The list kept beside the store, as the door into that store uses it.

Shown at once is a kept list that nothing came after; where something did, those cases are judged first. What
was shown is judged anew as a whole behind the screen, and kept again; the lists of the days to come are made
ahead, so that the first start of a morning finds its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from threading import RLock
from typing import TYPE_CHECKING, Protocol

from armrise.store.caseload.judged import at_once
from armrise.store.clinic.standing.triage import order
from armrise.store.kept.file import Doubt
from armrise.store.kept.kept import Kept, KeptLists
from armrise.store.kept.said import Said, said_of
from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from armrise.store.caseload.judged import Judged
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.place import Store
    from armrise.store.rules.pathway import Rules

WHOLE, FIRST = 600, 100
"""A list of so many rows is shown whole at once, of a longer one first so many."""
SATURDAY = 5


class Holding(Protocol):
    """The door, as it is known here."""

    held: Judged | None
    """The list as it was last judged."""

    @property
    def store(self) -> Store: ...
    @property
    def rules(self) -> Rules: ...
    @property
    def today(self) -> date: ...
    def now(self) -> datetime: ...


class Shown(NamedTuple):
    """What a kept list shows at once."""

    rows: list[Standing]
    more: int
    """How many rows come after these."""
    counts: Mapping[str, int]


class Keeping:
    """The kept lists of the store behind one door. Nothing is kept where there is no file for it."""

    def __init__(self, door: Holding, *, demonstration: bool = False) -> None:
        """``demonstration`` as :class:`KeptLists` has it."""
        self._door = door
        self._lists = KeptLists(door.store, demonstration=demonstration)
        self._one = RLock()
        """Whoever reads or writes the file is alone: several workers may be at it."""
        self._shown: Kept | None = None
        """The kept list whose first rows are shown, until the door holds it."""
        self._kept: Judged | None = None
        """What the file holds for the present clinic date, as far as is known."""
        self.unproved = False
        """True while a kept list is used that has not been judged anew."""
        self.said: Said | None = None
        """What a kept list says of the rules it rests on; None while none is shown."""

    @property
    def keeps(self) -> bool:
        """False for a store of which nothing is kept."""
        return self._lists.file is not None

    def show(self, rules: str) -> Shown | None:
        """What may be shown before any rule is read; ``rules``: the digest of those in force.

        None where that is nothing. Raises a store error.
        """
        with self._one:
            kept = self._lists.look(rules, self._door.today)
            if kept is None or kept.news:
                return None
            total = len(kept.page.listed)
            first = total if total <= WHOLE else FIRST
            try:
                shown = Shown(kept.rows(first), total - first, dict(kept.page.counts))
            except Doubt:
                return None
            self._shown, self.said, self.unproved = kept, kept.page.said, True
            return shown

    def hold(self) -> None:
        """Have the door hold the whole of the kept list that is shown.

        Where one of its rows cannot be read, the next reading judges everything.
        """
        with self._one:
            kept, self._shown = self._shown, None
            if kept is not None and self._door.held is None:
                self._door.held = self._kept = self._judged(kept)

    def of(self, day: date) -> Judged | None:
        """The list kept for a clinic date, to judge beside it what came since; None where none is usable."""
        with self._one:
            kept = self._lists.look(self._door.rules.digest, day)
            found = self._judged(kept) if kept is not None else None
            self.unproved |= found is not None and day == self._door.today
            return found

    @staticmethod
    def _judged(kept: Kept) -> Judged | None:
        from armrise.store.caseload.judged import Judged

        try:
            return Judged(kept.page.mark, tuple(order([*kept.rows(), *kept.off()])))
        except Doubt:
            return None

    def judge_anew(self, pause: Callable[[], None]) -> dict[str, tuple[str, ...]]:
        """Judge every case anew: the cases of which the door held something else, and the fields that differ.

        ``pause`` is called before each case, and stops it by raising. The door then holds what was found.
        Raises a store error.
        """
        from armrise.store.caseload.judged import judged
        from armrise.store.kept.anew import differing

        self.hold()
        door, before = self._door, self._door.held
        found = judged(door.store, door.rules, door.today, pause=pause)
        wrong = differing(door.store, before, found) if before is not None else {}
        if wrong:
            from armrise.store.kept.corrected import note

            self._kept = None
            note(door.store, wrong, door.now())
        if wrong or before is None or before.mark != found.mark:
            door.held = found
        elif door.held is before:
            door.held = replace(before, whole=found.whole)
        self.unproved = False
        return wrong

    def keep(self) -> bool:
        """Keep the list that the door holds, unless it is kept; False where that is not possible."""
        held = self._door.held
        if not self.keeps or held is None or held.mark is None:
            return False
        if self._kept is not None and self._kept.mark == held.mark:
            return True
        return self._keep(held)

    def keep_printed(self, pause: Callable[[], None] = at_once) -> bool:
        """Keep the list that the door holds as it is printed, where every case of it was judged as a whole.

        False where it is not kept. ``pause`` as in :meth:`judge_anew`.
        """
        held = self._door.held
        return held is not None and self._keep_printed(held, pause)

    def _keep_printed(self, made: Judged, pause: Callable[[], None]) -> bool:
        from armrise.store.exchange.out.listing import keep_texts

        door = self._door
        return self.keeps and made.whole and keep_texts(door.store, door.rules, made, door.today, pause)

    def _keep(self, made: Judged) -> bool:
        if made.mark is None:
            return False
        said = said_of(self._door.rules)
        with self._one:
            kept = self._lists.keep(made.mark, made.standings, said, self.days())
            if kept and made.mark.today == self._door.today:
                self._kept = made
        return kept

    def days(self) -> tuple[date, ...]:
        """The clinic dates of which a list is kept: this one and the next, over a weekend up to Monday."""
        today = self._door.today
        if self._door.store.clinic_date is not None:  # no other ever comes
            return (today,)
        ahead = [today + timedelta(days=1)]
        while ahead[-1].weekday() >= SATURDAY:
            ahead.append(ahead[-1] + timedelta(days=1))
        return (today, *ahead)

    def make_ahead(self, pause: Callable[[], None]) -> bool:
        """Keep the lists of the days to come, by what is recorded now; False where one cannot be kept.

        Of a list that is kept already only the cases with news are judged. As :meth:`judge_anew`.
        """
        from armrise.store.caseload.judged import judged

        if not self.keeps:
            return False
        store, rules = self._door.store, self._door.rules
        done = True
        for day in self.days()[1:]:
            before = self.of(day)
            found = judged(store, rules, day, before, pause)
            if before is None or before.mark != found.mark:
                done = self._keep(found) and done
                self._keep_printed(found, pause)
        return done
