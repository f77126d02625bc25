"""Which cases the list shows, under which heading and in which order: kept until somebody asks to sort again.

A refresh brings new words into the rows and moves none of them. A filter hides rows, but never a case of the
first tier. Pure: no screen, no store.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from armrise.tui.words.standing import TIER_HEADS

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

FIRST_TIER = "today"


class Group(NamedTuple):
    """One heading of the list with the cases shown under it, and how many there are without the filter."""

    tier: str
    shown: tuple[Standing, ...]
    total: int


class Listing:
    """The rows of the list in the order last asked for, and the filter over them."""

    def __init__(self) -> None:
        self.filter = ""
        self.moves = 0
        """How many rows would move, come or go if the list were sorted again."""
        self.news: set[str] = set()
        """Codes of cases where something came in since this author last looked."""
        self.marked: set[str] = set()
        """Codes of cases with a mark of this author's own."""
        self.gone: Collection[str] = frozenset()
        """Codes of cases that have left the list: their rows go with the next sort."""
        self._order: list[tuple[str, str]] = []
        self._cases: dict[str, Standing] = {}
        self._sorted: dict[str, Standing] = {}
        """What each case said when the list was last sorted."""
        self._wrote: set[str] = set()

    def sort(self, standings: Sequence[Standing]) -> None:
        """Take these cases in this order, each under the heading of its tier; nothing is done yet."""
        self._order = [(s.code, s.tier) for s in standings]
        self._cases = {s.code: s for s in standings}
        self._sorted = dict(self._cases)
        self._wrote, self.gone, self.moves = set(), frozenset(), 0

    def refresh(
        self, standings: Sequence[Standing], left: Iterable[Standing] = (), *, admit: bool = False
    ) -> None:
        """Take what these cases now say and leave every row where it is.

        ``left``: what cases say that are on the list no more; their rows stay until the next sort. A new case
        waits for it too, unless ``admit``: then it comes in at its place, and no two others change theirs.
        """
        if admit:
            self._admit(standings)
        known = {code for code, _ in self._order}
        now = {s.code for s in standings}
        self.gone = known - now
        self._cases.update({s.code: s for s in (*left, *standings) if s.code in known})
        self.moves = moving(self._order, [(s.code, s.tier) for s in standings])

    def _admit(self, standings: Sequence[Standing]) -> None:
        """Give each new case a row: before the first that would stand below it if all were sorted."""
        tiers, ranks = list(TIER_HEADS), {s.code: rank for rank, s in enumerate(standings)}
        known = {code for code, _ in self._order}
        for case in (s for s in standings if s.code not in known):
            own = (tiers.index(case.tier), ranks[case.code])
            below = (
                place
                for place, (code, tier) in enumerate(self._order)
                if (tiers.index(tier), ranks.get(code, -1)) > own
            )
            self._order.insert(next(below, len(self._order)), (case.code, case.tier))
            self._sorted[case.code] = case

    def wrote(self, code: str) -> None:
        """Something was written about this case."""
        self._wrote.add(code)

    def done(self, code: str) -> bool:
        """True when what was written since the last sort changed what the case says; undone, it is not."""
        return code in self._wrote and self._cases.get(code) != self._sorted.get(code)

    def case(self, code: str | None) -> Standing | None:
        """The case with this code, shown or not."""
        return self._cases.get(code or "")

    def heading(self, code: str) -> str:
        """The tier of the heading that the case stands under."""
        return next((tier for known, tier in self._order if known == code), "")

    def cases(self) -> list[Standing]:
        """Every case in the order of the list, hidden ones included."""
        return [self._cases[code] for code, _ in self._order]

    def groups(self) -> list[Group]:
        """The headings in order with the cases to show; a heading with nothing to show is left out."""
        found: dict[str, list[Standing]] = {tier: [] for tier in TIER_HEADS}
        totals = dict.fromkeys(TIER_HEADS, 0)
        for code, tier in self._order:
            totals[tier] += 1
            if self.shows(self._cases[code], tier):
                found[tier].append(self._cases[code])
        return [Group(tier, tuple(found[tier]), totals[tier]) for tier in TIER_HEADS if found[tier]]

    def shows(self, standing: Standing, heading: str) -> bool:
        """True when the filter lets the case through, or when it must never be hidden."""
        return FIRST_TIER in (heading, standing.tier) or matches(standing, self.filter)

    def outside(self) -> int:
        """How many cases of the first tier are shown although the filter does not ask for them."""
        firsts = [self._cases[c] for c, t in self._order if FIRST_TIER in (t, self._cases[c].tier)]
        return sum(not matches(s, self.filter) for s in firsts)

    def found(self) -> list[str]:
        """The codes of the cases that the filter asks for, in the order of the rows."""
        return [s.code for group in self.groups() for s in group.shown if matches(s, self.filter)]

    def sought(self) -> str:
        """The case that the filter most likely means; empty when it asks for none.

        A number typed is a code before it is a figure in somebody's reason: the first case with the text in
        its code, else the first that the filter asks for.
        """
        found, text = self.found(), self.filter.casefold()
        return next((code for code in found if text in code.casefold()), found[0] if found else "")

    def after(self, code: str) -> Standing | None:
        """The case that stands next below this one in the whole list."""
        codes = [known for known, _ in self._order]
        place = codes.index(code) + 1 if code in codes else len(codes)
        return self._cases[codes[place]] if place < len(codes) else None

    def beside(self, code: str, by: int) -> Standing | None:
        """The case ``by`` rows below (above, when negative) among those shown; None past either end."""
        shown = [s.code for group in self.groups() for s in group.shown]
        every = shown if code in shown else [known for known, _ in self._order]
        place = every.index(code) + by if code in every else -1
        return self._cases[every[place]] if 0 <= place < len(every) else None


def matches(standing: Standing, text: str) -> bool:
    """True when every word of ``text`` occurs in what the row is about, in whatever case."""
    wanted = text.casefold().split()
    if not wanted:
        return True
    about = _about(standing)
    return all(word in about for word in wanted)


def _about(standing: Standing) -> str:
    words = [
        standing.code,
        standing.side,
        standing.stage,
        standing.stage_name,
        standing.pathway,
        standing.pathway_name,
        standing.clinician,
        standing.status,
        str(standing.verdict.word),
        TIER_HEADS[standing.tier],
    ]
    for reason in standing.reasons:
        words += [reason.name, reason.sentence]
    return "\n".join(words).casefold()


def moving(order: Sequence[tuple[str, str]], sorted_now: Sequence[tuple[str, str]]) -> int:
    """How many rows sorting would move, bring or take away: all but the longest run that stays in order.

    A row is a code and the tier of its heading.
    """
    places = {row: place for place, row in enumerate(sorted_now)}
    ends: list[int] = []  # the least last place of a run of each length
    for place in (places[row] for row in order if row in places):
        at = bisect_left(ends, place)
        ends[at : at + 1] = [place]
    codes = {code for code, _ in order} | {code for code, _ in sorted_now}
    return len(codes) - len(ends)
