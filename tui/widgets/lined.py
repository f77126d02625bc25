"""The lines of every row at the present width: worked out when somebody looks at a row, kept while they hold.

What a row says follows from its standing, the columns, and how it is to be seen: while none of these changes,
neither a search nor a view, a mark or a case opened has a row laid out again. Pure: lines of text, no screen.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from armrise.store.record.light import NamedTuple
from armrise.tui.widgets.columns import Plan, Widest, planned, widest, widths
from armrise.tui.widgets.rows import WHOLE, Line, Look, case_lines, one_line

if TYPE_CHECKING:
    from textual.strip import Strip

    from armrise.store.clinic.case.standing import Standing
    from armrise.tui.widgets.listing import Group, Listing

MOST = 400
"""Rows that are kept laid out: some windows full, however long the list."""


class Laid(NamedTuple):
    """A row laid out, of what it says, and its lines as far as they have been painted."""

    standing: Standing
    look: Look
    lines: list[Line]
    strips: dict[tuple[object, ...], Strip]


class Lined:
    """The rows of a listing as lines."""

    def __init__(self, listing: Listing) -> None:
        self.listing = listing
        self.plan: Plan | None = None
        self.compact = False
        """One line a case."""
        self.keys: Mapping[str, str] = {}
        """The keys of what the row under the cursor says to do."""
        self._plans: dict[bool, Plan] = {}
        """The columns of the list, and those by the hour."""
        self._version = -1
        self._widths: dict[str, tuple[Standing, Widest]] = {}
        self._widest = widest(())
        self._turned: frozenset[str] = frozenset()
        """Cases whose reason is said whole, though under their heading it would not be."""
        self._rows: dict[tuple[str, bool, bool, bool], Laid] = {}
        self._heights: dict[bool, dict[str, tuple[Standing, Look, int]]] = {False: {}, True: {}}
        """Those of the list, and those of the cases by their hour, which are said whole."""

    def see(self, width: int, *, compact: bool, keys: Mapping[str, str], ascii_only: bool) -> Plan:
        """The columns of the present reading in ``width`` cells; ``keys``: those of what there is to do."""
        read_anew = self.listing.version != self._version
        if read_anew:
            self._version = self.listing.version
            self._measure()
        columns = planned(self._widest, width, by_hour=self.listing.by_hour, ascii_only=ascii_only)
        by_hour = bool(columns.hour)
        if self._plans.get(by_hour) != columns or keys != self.keys:
            self._rows.clear()
            self._heights[by_hour] = {}
        self._plans[by_hour], self.plan, self.compact, self.keys = columns, columns, compact, keys
        if read_anew:
            for heights in self._heights.values():
                for code in [code for code, kept in heights.items() if not self._holds(code, kept)]:
                    del heights[code]
        return columns

    def _measure(self) -> None:
        """How wide the texts of each column are, of the cases that say something else by now."""
        before = self._widths

        def measured(case: Standing) -> tuple[Standing, Widest]:
            kept = before.get(case.code)
            return kept if kept is not None and kept[0] is case else (case, widths(case))

        self._widths = {case.code: measured(case) for case in self.listing.cases()}
        self._widest = widest(wide for _, wide in self._widths.values())
        self._turned = self.listing.turned(WHOLE)

    def _holds(self, code: str, kept: tuple[Standing, Look, int]) -> bool:
        look = self._look(code, opened=False)._replace(compact=False)
        return kept[0] is self.listing.case(code) and kept[1] == look

    def _look(self, code: str, *, opened: bool) -> Look:
        heading, gone = self.listing.heading(code), code in self.listing.gone
        return Look(heading, opened, self.compact, gone, self.keys)

    def row(self, code: str, *, opened: bool) -> Laid:
        """A row laid out."""
        case, look = self.listing.case(code), self._look(code, opened=opened)
        assert self.plan is not None
        key = (code, opened, self.compact, bool(self.plan.hour))
        kept = self._rows.get(key)
        if kept is None or kept.standing is not case or kept.look != look:
            assert case is not None
            kept = Laid(case, look, case_lines(case, self.plan, look), {})
            self._rows.pop(key, None)
            self._rows[key] = kept
            if len(self._rows) > MOST:
                del self._rows[next(iter(self._rows))]
        return kept

    def unpaint(self) -> None:
        """Another theme, another ground: what was painted of the rows holds no longer."""
        for row in self._rows.values():
            row.strips.clear()

    def height(self, code: str) -> int:
        """The lines of a row that is not opened; most are one and need not be laid out for it."""
        case, look = self.listing.case(code), self._look(code, opened=False)
        if case is None or self.plan is None or one_line(case, self.plan, look):
            return 1
        heights = self._heights[bool(self.plan.hour)]
        if code not in heights:
            heights[code] = (case, look, len(case_lines(case, self.plan, look)))
        return heights[code][2]

    def heights(self, groups: Sequence[Group]) -> Callable[[int, Sequence[str]], list[int]]:
        """The heights under each of these headings as far as they are known, else 0."""

        def known(number: int, codes: Sequence[str]) -> list[int]:
            by_hour = self.plan is not None and bool(self.plan.hour)
            whole = by_hour or groups[number].tier in WHOLE
            if self.compact or not (whole or self._turned):
                return [1] * len(codes)
            if whole:
                kept = self._heights[by_hour]
                return [kept[code][2] if code in kept else 0 for code in codes]
            return [self.height(code) if code in self._turned else 1 for code in codes]

        return known
