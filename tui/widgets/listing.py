"""Which cases the list shows, under which heading and in which order: kept until somebody asks to sort again.

A refresh brings new words into the rows and moves none of them. A view, a search and a number typed leave
rows out; those of the first tier among them are counted under its heading, which is never left out with
them. What a key asks is looked up; what follows from a reading is worked out once. Pure: no screen, no store.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from armrise.store.record.light import NamedTuple
from armrise.tui.widgets import jump, search, views
from armrise.tui.words.standing import TIER_HEADS

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

FIRST_TIER = "today"
NO_MATCH = 'No case matches "{}": Esc shows every case again.'
SEARCHING = 'Searching for "{}" ...'
NO_NUMBER = 'No case on the list has the number "{}": Esc shows every case again.'
NONE_IN_VIEW = 'No case is in the view "{}": 1 shows every case again.'


class Group(NamedTuple):
    """One heading of the list with the cases shown under it."""

    tier: str
    """The tier they stand in; empty where the heading is none of a tier."""
    head: str
    codes: Sequence[str]


class Listing:
    """The rows of the list in the order last asked for, and what leaves some of them out."""

    def __init__(self) -> None:
        self.view = views.ALL
        self.filter = ""
        """What is searched for; empty for nothing."""
        self.number = ""
        """The digits typed of a case's number: while there are any they alone say what is shown."""
        self.at_once: int | None = None
        """Of so many more cases a search learns the words before it shows what it has found; None of all."""
        self.partly = False
        """True while what is shown is what the search has found so far, see :meth:`search_all`."""
        self.moves = 0
        """How many rows would move, come or go if the list were sorted again."""
        self.news: set[str] = set()
        """Codes of the cases in which somebody else recorded something since they were last opened."""
        self.marked: set[str] = set()
        """Codes of the cases marked for oneself."""
        self.gone: Collection[str] = frozenset()
        """Codes of cases that have left the list: their rows go with the next sort."""
        self.version = 0
        """Another number after each reading: what was worked out of the one before may not hold."""
        self._order: dict[str, str] = {}
        """The codes in the order of their rows, each with the tier of its heading."""
        self._cases: dict[str, Standing] = {}
        self._sorted: dict[str, Standing] = {}
        """What each case said when the list was last sorted."""
        self._wrote: set[str] = set()
        self._texts = search.Texts()
        """The words each case is found by, put together when first searched or before."""
        self._shown: dict[str, None] = {}
        self._asked: tuple[views.View, str, str] | None = None
        """What the cases shown were chosen by: they stay until something else is asked for."""
        self._chosen_of: tuple[int, Collection[str]] = (0, ())
        """Of which reading, with which marks, they were chosen."""
        self._read()

    def _forget(self) -> None:
        """Something else is shown, or something new said: what follows from it is worked out when asked."""
        self._groups: list[Group] | None = None
        self._found: list[str] | None = None
        self._sought: str | None = None

    def _read(self) -> None:
        """Another reading is shown."""
        self.version += 1
        self._listed: list[Standing] | None = None
        self._places: dict[str, int] = {}
        self._urgent: list[str] | None = None
        self._learning = False
        self._folded: dict[str, list[str]] = {}
        """Every code by its small letters."""
        self._totals = Counter(self._order.values())
        self._counted: tuple[Collection[str], dict[views.View, int]] = ((), {})
        self._forget()

    def sort(self, standings: Sequence[Standing]) -> None:
        """Take these cases in this order, each under the heading of its tier; nothing is done yet."""
        self._order = {s.code: s.tier for s in standings}
        self._cases = {s.code: s for s in standings}
        self._sorted = dict(self._cases)
        self._wrote, self.gone, self.moves = set(), frozenset(), 0
        self._asked = None
        self._read()

    def refresh(
        self, standings: Sequence[Standing], left: Iterable[Standing] = (), *, admit: bool = False
    ) -> None:
        """Take what these cases now say and leave every row where it is.

        ``left``: what cases say that are on the list no more; their rows stay until the next sort. A new case
        waits for it too, unless ``admit``: then it comes in at its place, and no two others change theirs.
        """
        new = [s for s in standings if s.code not in self._order] if admit else []
        if new:
            self._admit(new, standings)
        now = {s.code for s in standings}
        self.gone = self._order.keys() - now
        self._cases.update({s.code: s for s in (*left, *standings) if s.code in self._order})
        self._read()
        self._let_in([s.code for s in new])
        self.moves = moving(list(self._order.items()), [(s.code, s.tier) for s in standings])

    def _admit(self, new: Sequence[Standing], standings: Sequence[Standing]) -> None:
        """Give each new case a row: before the first that would stand below it if all were sorted."""
        tiers, ranks = list(TIER_HEADS), {s.code: rank for rank, s in enumerate(standings)}
        order = list(self._order.items())
        for case in new:
            own = (tiers.index(case.tier), ranks[case.code])
            below = (
                place
                for place, (code, tier) in enumerate(order)
                if (tiers.index(tier), ranks.get(code, -1)) > own
            )
            order.insert(next(below, len(order)), (case.code, case.tier))
            self._sorted[case.code] = case
        self._order = dict(order)

    def wrote(self, code: str) -> None:
        """Something was written about this case."""
        self._wrote.add(code)

    def done(self, code: str) -> bool:
        """True when what was written since the last sort changed what the case says; undone, it is not."""
        return code in self._wrote and self._cases.get(code) != self._sorted.get(code)

    def legend(self, *, ascii_only: bool = False) -> tuple[str, ...]:
        """How many rows carry a mark and what it means, the longer wording first; nothing without any."""
        new, own = (sum(code in self._order for code in codes) for codes in (self.news, self.marked))
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
        return self._order.get(code, "")

    def cases(self) -> list[Standing]:
        """Every case in the order of the list, hidden ones included; not to be changed."""
        if self._listed is None:
            self._listed = [self._cases[code] for code in self._order]
        return self._listed

    def turned(self, tiers: Collection[str]) -> frozenset[str]:
        """Cases that by now belong under one of these headings and stand under another."""
        return frozenset(c for c, h in self._order.items() if h not in tiers and self._cases[c].tier in tiers)

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
        shown = self._chosen()
        if self._groups is None:
            self._groups = [group for group in self._headed(shown) if group.head]
        return self._groups

    def _headed(self, shown: Mapping[str, None]) -> list[Group]:
        """Every heading, those with nothing to say among them."""
        if self.by_hour:
            head = f"{self.view.name.upper()}  {len(shown)}" if shown else ""
            groups = [Group(FIRST_TIER, self._first_head(0), ()), Group("", head, list(shown))]
        else:
            under: dict[str, list[str]] = {tier: [] for tier in TIER_HEADS}
            for code in shown:
                under[self._order[code]].append(code)
            groups = [self._under(tier, here) for tier, here in under.items()]
        if not (shown or self.whole):
            groups.append(Group("", self.nothing(), ()))
        return groups

    def _under(self, tier: str, here: Sequence[str]) -> Group:
        """The cases shown under the heading of a tier; an empty heading where there is nothing to say."""
        if tier == FIRST_TIER and (head := self._first_head(len(here))):
            return Group(tier, head, here)
        total = self._totals[tier]
        count = str(total) if len(here) == total else f"{len(here)} of {total}"
        return Group(tier, f"{TIER_HEADS[tier]}  {count}" if here else "", here)

    def _first_head(self, shown: int) -> str:
        """The heading of the first tier while cases of it are left out, in one line; empty while none is."""
        outside = self.outside()
        if not outside:
            return ""
        here = f"{shown}, and " if shown else ""
        by_view = not (self.number or self.filter)
        back = "outside this view (1 shows them)" if by_view else "outside this search (Esc shows them)"
        where = "not shown yet (Esc shows them)" if self.partly else back
        return f"{TIER_HEADS[FIRST_TIER]}  {here}{outside} {where}"

    def nothing(self) -> str:
        """Why no case is shown, and how to see every case again; empty where nothing is left out."""
        if self.whole:
            return ""
        if self.number:
            return NO_NUMBER.format(self.number)
        if self.partly:
            return SEARCHING.format(self.filter)
        return NO_MATCH.format(self.filter) if self.filter else NONE_IN_VIEW.format(self.view.name)

    def shows(self, code: str) -> bool:
        """True when view, search and number let the case through."""
        return code in self._chosen()

    # choosing

    def _chosen(self) -> dict[str, None]:
        """The cases shown in the order of their rows, chosen anew when something else is asked."""
        asked = (self.view, self.filter, self.number)
        if asked != self._asked:
            self._shown = dict.fromkeys(self._fitting())
            self._asked, self._chosen_of = asked, (self.version, frozenset(self.marked))
            self._forget()
        return self._shown

    def _fitting(self) -> list[str]:
        """The cases that are asked for, in the order of the rows."""
        if self.number:
            self.partly = False
            return [code for code in self._order if jump.has(code, self.number)]
        asked = search.wanted(self.filter)
        among = self._among(asked)
        self.partly = bool(asked) and self.learn(self.at_once)
        fitting = self._texts.found(asked, among)
        if self.view is not views.ALL:
            fitting = self._in(self.view, fitting)
        if self.by_hour:
            fitting.sort(key=lambda code: views.by_time(self._cases[code]))
        return fitting

    def _among(self, asked: Sequence[str]) -> Iterable[str]:
        """Where to look: with more letters of a search among what it found before, else everywhere."""
        other = self._chosen_of != (self.version, frozenset(self.marked))
        if self._asked is None or self.partly or other:
            return self._order
        view, text, number = self._asked
        narrower = view == self.view and not number and search.narrows(asked, search.wanted(text))
        return self._shown if narrower else self._order

    def _found_by(self, asked: Sequence[str], codes: Iterable[str]) -> list[str]:
        """Those of these cases about which all of the words are said."""
        if not asked:
            return list(codes)
        self.learn()
        return self._texts.found(asked, codes)

    def search_all(self) -> bool:
        """Have a search look at every case that it has not looked at yet; False where there is none."""
        if not self.partly:
            return False
        self.learn()
        self.partly, self._asked = False, None
        return True

    def learn(self, cases: int | None = None) -> bool:
        """Put together the words by which so many more cases are found, or all; False when that is done."""
        if not self._learning:
            self._texts.tell(self._cases)
            self._learning = True
        return self._texts.learn(cases)

    def _let_in(self, new: Sequence[str]) -> None:
        """Show those of the new cases that are asked for, beside what is shown."""
        fitting = [code for code in new if self._fits(code)]
        if fitting:
            shown = {*self._shown, *fitting}
            order = self._shown if self.by_hour else self._order
            self._shown = dict.fromkeys(code for code in [*order, *fitting] if code in shown)
            self._forget()

    def _fits(self, code: str) -> bool:
        if self.number:
            return jump.has(code, self.number)
        return bool(self._in(self.view, self._found_by(search.wanted(self.filter), [code])))

    def _in(self, view: views.View, codes: Iterable[str]) -> list[str]:
        """Those of these cases that a view shows."""
        taken = [code for code in codes if view.takes(self._cases[code], code in self.marked)]
        return self._found_by(search.wanted(view.text), taken)

    def in_view(self, view: views.View) -> int:
        """How many cases of the list a view shows."""
        marked = frozenset(self.marked)
        if self._counted[0] != marked:
            self._counted = (marked, {})
        counted = self._counted[1]
        if view not in counted:
            counted[view] = len(self._in(view, self._order))
        return counted[view]

    def outside(self) -> int:
        """How many cases of the first tier are left out, under its heading or of it by now."""
        if self._urgent is None:
            tiers = self._order.items()
            self._urgent = [c for c, tier in tiers if FIRST_TIER in (tier, self._cases[c].tier)]
        shown = self._chosen()
        return sum(code not in shown for code in self._urgent)

    # finding

    def found(self) -> list[str]:
        """The codes of the cases shown, in the order of the rows; not to be changed."""
        groups = self.groups()
        if self._found is None:
            self._found = [code for group in groups for code in group.codes]
        return self._found

    def sought(self) -> str:
        """The case that is most likely meant; empty when none is shown.

        A number typed is a code before it is a figure in somebody's reason: the case whose number it is, then
        the first with the text in its code, else the first that is shown.
        """
        found = self.found()
        if self._sought is None:
            self._sought = self._likeliest(found, (self.number or self.filter).casefold())
        return self._sought

    def _likeliest(self, found: Sequence[str], text: str) -> str:
        by_number = jump.best(found, text) if text.isdecimal() else ""
        having = {code for low, codes in self._by_letters().items() if text in low for code in codes}
        by_code = next((code for code in found if code in having), "") if text and having else ""
        return by_number or by_code or next(iter(found), "")

    def _by_letters(self) -> dict[str, list[str]]:
        if not self._folded:
            for code in self._order:
                self._folded.setdefault(code.casefold(), []).append(code)
        return self._folded

    def meant(self) -> str:
        """The one case that a search means beyond doubt: its only match, or that with the number or code."""
        found, text = self.found(), self.filter.casefold()
        if len(found) == 1 and not self.partly:
            return found[0]
        whole = next((code for code in self._by_letters().get(text, ()) if self.shows(code)), "")
        return whole or (jump.meant(found, text) if text.isdecimal() else "")

    def after(self, code: str) -> Standing | None:
        """The case that stands next below this one in the whole list."""
        if not self._places:
            self._places = {known: place for place, known in enumerate(self._order)}
        place = self._places.get(code, len(self._order)) + 1
        return self.cases()[place] if place < len(self._order) else None

    def beside(self, code: str, by: int) -> Standing | None:
        """The case ``by`` rows below (above, when negative) among those shown; None past either end."""
        shown = self.found()
        every = shown if self.shows(code) else list(self._order)
        place = every.index(code) + by if code in self._order else -1
        return self._cases[every[place]] if 0 <= place < len(every) else None


def left_out(every: Sequence[Standing], shown: Sequence[Standing], why: str) -> str:
    """What is shown of how many, and how many urgent cases are not: nothing hides one of them unsaid."""
    urgent = sum(s.tier == FIRST_TIER for s in every) - sum(s.tier == FIRST_TIER for s in shown)
    cases = f"Shown: {len(shown)} of {len(every)} cases ({why})"
    return f"{cases}; {urgent} of {FIRST_TIER.upper()} left out." if urgent else f"{cases}."


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
