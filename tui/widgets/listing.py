"""Which cases the list shows, under which heading and in which order: kept until somebody asks to sort again.

A refresh brings new words into the rows and moves none of them. A view, a search and a number typed leave
rows out; those of the first tier among them are counted under its heading, which is never left out with
them. Pure: no screen, no store.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from armrise.tui.widgets import jump, search, views
from armrise.tui.words.standing import TIER_HEADS

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

FIRST_TIER = "today"
NO_MATCH = 'No case matches "{}": Esc shows every case again.'
NO_NUMBER = 'No case on the list has the number "{}": Esc shows every case again.'
NONE_IN_VIEW = 'No case is in the view "{}": 1 shows every case again.'


class Group(NamedTuple):
    """One heading of the list with the cases shown under it."""

    tier: str
    """The tier they stand in; empty where the heading is none of a tier."""
    head: str
    shown: tuple[Standing, ...]


class Listing:
    """The rows of the list in the order last asked for, and what leaves some of them out."""

    def __init__(self) -> None:
        self.view = views.ALL
        self.filter = ""
        """What is searched for; empty for nothing."""
        self.number = ""
        """The digits typed of a case's number: while there are any they alone say what is shown."""
        self.moves = 0
        """How many rows would move, come or go if the list were sorted again."""
        self.news: set[str] = set()
        """Codes of the cases in which somebody else recorded something since they were last opened."""
        self.marked: set[str] = set()
        """Codes of the cases marked for oneself."""
        self.gone: Collection[str] = frozenset()
        """Codes of cases that have left the list: their rows go with the next sort."""
        self._order: list[tuple[str, str]] = []
        self._cases: dict[str, Standing] = {}
        self._sorted: dict[str, Standing] = {}
        """What each case said when the list was last sorted."""
        self._wrote: set[str] = set()
        self._about: dict[str, str] = {}
        """The words each case is found by, put together when first searched."""
        self._shown: dict[str, None] = {}
        self._asked: tuple[views.View, str, str] | None = None
        """What the cases shown were chosen by: they stay until something else is asked for."""

    def sort(self, standings: Sequence[Standing]) -> None:
        """Take these cases in this order, each under the heading of its tier; nothing is done yet."""
        self._order = [(s.code, s.tier) for s in standings]
        self._cases = {s.code: s for s in standings}
        self._sorted = dict(self._cases)
        self._wrote, self.gone, self.moves = set(), frozenset(), 0
        self._about.clear()
        self._asked = None

    def refresh(
        self, standings: Sequence[Standing], left: Iterable[Standing] = (), *, admit: bool = False
    ) -> None:
        """Take what these cases now say and leave every row where it is.

        ``left``: what cases say that are on the list no more; their rows stay until the next sort. A new case
        waits for it too, unless ``admit``: then it comes in at its place, and no two others change theirs.
        """
        before = {code for code, _ in self._order}
        if admit:
            self._admit(standings)
        known = {code for code, _ in self._order}
        now = {s.code for s in standings}
        self.gone = known - now
        self._cases.update({s.code: s for s in (*left, *standings) if s.code in known})
        self._about.clear()
        self._let_in(known - before)
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

    def legend(self, *, ascii_only: bool = False) -> tuple[str, ...]:
        """How many rows carry a mark and what it means, the longer wording first; nothing without any."""
        shown = {code for code, _ in self._order}
        new, own = len(self.news & shown), len(self.marked & shown)
        dot = "." if ascii_only else "•"
        long = [f"{dot} {new} new since you looked"] if new else []
        short = [f"{dot} {new} new"] if new else []
        long += [f"* {own} marked, G hands over"] if own else []
        short += [f"* {own} marked"] if own else []
        return ("   ".join(long), "   ".join(short)) if long else ()

    def case(self, code: str | None) -> Standing | None:
        """The case with this code, shown or not."""
        return self._cases.get(code or "")

    def heading(self, code: str) -> str:
        """The tier of the heading that the case stands under."""
        return next((tier for known, tier in self._order if known == code), "")

    def cases(self) -> list[Standing]:
        """Every case in the order of the list, hidden ones included."""
        return [self._cases[code] for code, _ in self._order]

    @property
    def whole(self) -> bool:
        """True when nothing leaves a row out."""
        return self.view is views.ALL and not self.filter and not self.number

    @property
    def by_hour(self) -> bool:
        """True when the cases stand by the hour at which they come in today."""
        return self.view.by_time and not self.number

    def groups(self) -> list[Group]:
        """The headings in order with the cases to show; a heading with nothing to say is left out."""
        shown = [self._cases[code] for code in self._chosen()]
        if self.by_hour:
            came = tuple(shown)
            head = f"{self.view.name.upper()}  {len(came)}" if came else ""
            groups = [Group(FIRST_TIER, self._first_head(0), ()), Group("", head, came)]
        else:
            groups = [self._under(tier, shown) for tier in TIER_HEADS]
        if not (shown or self.whole):
            groups.append(Group("", self.nothing(), ()))
        return [group for group in groups if group.head]

    def _under(self, tier: str, shown: Sequence[Standing]) -> Group:
        """The cases shown under the heading of a tier; an empty heading where there is nothing to say."""
        headed = dict(self._order)
        here = tuple(s for s in shown if headed[s.code] == tier)
        if tier == FIRST_TIER and (head := self._first_head(len(here))):
            return Group(tier, head, here)
        total = sum(known == tier for _, known in self._order)
        count = str(total) if len(here) == total else f"{len(here)} of {total}"
        return Group(tier, f"{TIER_HEADS[tier]}  {count}" if here else "", here)

    def _first_head(self, shown: int) -> str:
        """The heading of the first tier while cases of it are left out, in one line; empty while none is."""
        outside = self.outside()
        if not outside:
            return ""
        here = f"{shown}, and " if shown else ""
        by_view = not (self.number or self.filter)
        back = "this view (1 shows them)" if by_view else "this search (Esc shows them)"
        return f"{TIER_HEADS[FIRST_TIER]}  {here}{outside} outside {back}"

    def nothing(self) -> str:
        """Why no case is shown, and how to see every case again; empty where nothing is left out."""
        if self.whole:
            return ""
        if self.number:
            return NO_NUMBER.format(self.number)
        return NO_MATCH.format(self.filter) if self.filter else NONE_IN_VIEW.format(self.view.name)

    def shows(self, code: str) -> bool:
        """True when view, search and number let the case through."""
        return code in self._chosen()

    def _chosen(self) -> dict[str, None]:
        """The cases shown in the order of their rows, chosen anew when something else is asked."""
        asked = (self.view, self.filter, self.number)
        if asked != self._asked:
            fitting = [case for case in self.cases() if self._fits(case)]
            if self.by_hour:
                fitting.sort(key=views.by_time)
            self._asked, self._shown = asked, dict.fromkeys(case.code for case in fitting)
        return self._shown

    def _let_in(self, new: Collection[str]) -> None:
        """Show those of the new cases that are asked for, beside what is shown."""
        fitting = [code for code in new if self._fits(self._cases[code])]
        order = self._shown if self.by_hour else [code for code, _ in self._order]
        self._shown = dict.fromkeys(code for code in [*order, *fitting] if code in {*self._shown, *fitting})

    def _fits(self, standing: Standing) -> bool:
        if self.number:
            return bool(jump.found([standing.code], self.number))
        return self._in(self.view, standing) and self._tells(standing, self.filter)

    def _in(self, view: views.View, standing: Standing) -> bool:
        return view.takes(standing, standing.code in self.marked) and self._tells(standing, view.text)

    def _tells(self, standing: Standing, text: str) -> bool:
        if not text:
            return True
        if standing.code not in self._about:
            self._about[standing.code] = search.about(standing)
        return search.matches(self._about[standing.code], text)

    def in_view(self, view: views.View) -> int:
        """How many cases of the list a view shows."""
        return sum(self._in(view, case) for case in self.cases())

    def outside(self) -> int:
        """How many cases of the first tier are left out, under its heading or of it by now."""
        firsts = [self._cases[c] for c, t in self._order if FIRST_TIER in (t, self._cases[c].tier)]
        return sum(not self.shows(case.code) for case in firsts)

    def found(self) -> list[str]:
        """The codes of the cases shown, in the order of the rows."""
        return [s.code for group in self.groups() for s in group.shown]

    def sought(self) -> str:
        """The case that is most likely meant; empty when none is shown.

        A number typed is a code before it is a figure in somebody's reason: the case whose number it is, then
        the first with the text in its code, else the first that is shown.
        """
        found, text = self.found(), (self.number or self.filter).casefold()
        by_number = jump.found(found, text) if text.isdecimal() else []
        by_code = [code for code in found if text and text in code.casefold()]
        return next(iter([*by_number, *by_code, *found]), "")

    def meant(self) -> str:
        """The one case that a search means beyond doubt: its only match, or that with the number or code."""
        found, text = self.found(), self.filter.casefold()
        if len(found) == 1:
            return found[0]
        whole = next((code for code in found if code.casefold() == text), "")
        return whole or (jump.meant(found, text) if text.isdecimal() else "")

    def after(self, code: str) -> Standing | None:
        """The case that stands next below this one in the whole list."""
        codes = [known for known, _ in self._order]
        place = codes.index(code) + 1 if code in codes else len(codes)
        return self._cases[codes[place]] if place < len(codes) else None

    def beside(self, code: str, by: int) -> Standing | None:
        """The case ``by`` rows below (above, when negative) among those shown; None past either end."""
        shown = self.found()
        every = shown if code in shown else [known for known, _ in self._order]
        place = every.index(code) + by if code in every else -1
        return self._cases[every[place]] if 0 <= place < len(every) else None


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
