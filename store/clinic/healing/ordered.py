"""What holds a case back on its clinic date, limit by limit, and what an order or a permission changes in it.

The effective limit is the more restrictive of the surgeon's orders and the pathway's template, except where
the orders state a date of their own: that one holds, and is said to be the surgeon's where it differs.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.healing import ACTIVE, gate, onset_word, order_bars, sling_until
from armrise.store.clinic.healing.limits import NUMBERS
from armrise.store.record.light import NamedTuple
from armrise.store.record.words import full_date, plain, words_date

ORDER = "surgeon's order"
TEMPLATE = "template"
BARS = (
    ("no_active_until", "no active work until", True),
    ("no_resisted_until", "no resisted work until", False),
)
DATES = ("sling_until", *(key for key, _, _ in BARS), *(f"stage{number}_from" for number in range(2, 6)))


class InForce(NamedTuple):
    """One limit in force. ``key`` is the field of the orders that would set it, ``on`` its date, if any."""

    key: str
    name: str
    value: str
    by: str
    on: date | None = None
    template: date | None = None
    """The template's own date, where a surgeon's order gives another."""

    @property
    def differs(self) -> bool:
        """True where the surgeon's date is not that of the template."""
        return self.by == ORDER and self.template is not None and self.template != self.on


def day_words(view: View, day: date) -> str:
    """A date with the day after surgery or injury: "Wed 11 Mar (day 42)"."""
    onset = view.onset()
    shown = words_date(day) if day.year == view.today.year else full_date(day)
    return f"{shown} (day {(day - onset.on).days})" if onset else shown


def limits_now(view: View) -> tuple[InForce, ...]:
    """Every limit that orders can set, as it stands on the view's date."""
    if view.pathway is None or view.closed:
        return ()
    return (*_sling(view), *_bars(view), *_numbers(view), *_gates(view))


def _sling(view: View) -> list[InForce]:
    found, template = sling_until(view, view.today), sling_until(_without_dates(view), view.today)
    if found is None:
        return []
    by = TEMPLATE if found[1] == TEMPLATE else ORDER
    shown = day_words(view, found[0])
    return [InForce("sling_until", "sling on until", shown, by, found[0], template[0] if template else None)]


def _bars(view: View) -> list[InForce]:
    ends = {(classes == ACTIVE): until for classes, until in order_bars(view, view.today)}
    return [
        InForce(key, name, day_words(view, ends[active]), ORDER, ends[active])
        for key, name, active in BARS
        if active in ends
    ]


def _numbers(view: View) -> list[InForce]:
    found: list[InForce] = []
    for key, name, unit in NUMBERS:
        if order := view.last_order(key, view.today):
            value = order[0] if isinstance(order[0], int) else plain(order[0])
            found.append(InForce(key, name, f"{value} {unit}", ORDER))
    return found


def _gates(view: View) -> list[InForce]:
    pathway = view.pathway
    if pathway is None:
        return []
    plain_view, found = _without_dates(view), list[InForce]()
    for number, stage in enumerate(pathway.stages[1:], 2):
        opening, template = gate(view, stage), gate(plain_view, stage)
        if opening is None:
            continue
        by = ORDER if opening.words.startswith(ORDER) else TEMPLATE
        shown = f"not before the {onset_word(view.pathway)} date is known"
        if opening.opens is not None:
            shown = day_words(view, opening.opens)
        own = template.opens if template else None
        key, name = f"stage{number}_from", f"{stage.code} opens"
        found.append(InForce(key, name, shown, by, opening.opens, own))
    return found


def _without_dates(view: View) -> View:
    """The same case as if no order had given a date; a large tear stays one."""
    bare = tuple(replace(o, **dict.fromkeys(DATES)) for o in view.record.orders)
    return View.of(replace(view.record, orders=bare), view.rules, view.today)


class Change(NamedTuple):
    """One limit before and after, either of them missing where there was or will be none."""

    before: InForce | None
    after: InForce | None

    @property
    def words(self) -> str:
        """ "sling on until Wed 11 Mar -> Wed 25 Mar (day 56), surgeon's order, differs from template"."""
        held = self.after or self.before
        assert held is not None
        old = self.before.value if self.before else "no limit"
        if self.after is None:
            return f"{held.name} {old} -> no limit"
        return f"{held.name} {old} -> {self.after.value}, {self.after.by}{self._difference(self.after)}"

    def _difference(self, after: InForce) -> str:
        """That the surgeon's date is not the template's, with that one unless it stands before the arrow."""
        if not after.differs or after.template is None:
            return ""
        shown = self.before is not None and self.before.on == after.template
        return ", differs from template" + ("" if shown else f" ({words_date(after.template)})")

    @property
    def key(self) -> str:
        """The field of the orders it belongs to."""
        held = self.after or self.before
        return held.key if held else ""


def changes(before: View, after: View) -> tuple[Change, ...]:
    """The limits that differ between two views of a case, in the order of :func:`limits_now`."""
    old, new = ({limit.key: limit for limit in limits_now(view)} for view in (before, after))
    pairs = [Change(old.get(key), new.get(key)) for key in dict.fromkeys((*new, *old))]
    return tuple(c for c in pairs if _told(c.before) != _told(c.after))


def _told(limit: InForce | None) -> tuple[str, str] | None:
    return (limit.value, limit.by) if limit else None
