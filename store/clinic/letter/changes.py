"""First and last value of each measure with its change, beside the error of measuring it.

Which values may be compared, the figures of error and of response are those of the rules; a change of range
or strength is within the error of one rater only where one rater measured both.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from armrise.store.clinic.case.view import View
from armrise.store.clinic.motion.losses import is_like, series
from armrise.store.clinic.motion.motion import all_named, number, other_side
from armrise.store.clinic.scores.scale import RATING
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import STRENGTHS, Measure
from armrise.store.record.light import dataclass
from armrise.store.record.words import day_year, plain, value_words

WORST, NIGHTS = "worst_pain", "night_waking"
ALWAYS = ("passive_external_rotation", "active_flexion")
"""Ranges that the letter names where nobody measured them too."""
DEGREES, OF_TEN, KILOGRAMS, PER_CENT = "degrees", "of 10", "kg", "percent of other side"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One measure over the episode; ``last`` None: measured once, both None: never.

    ``error`` is what a change has to reach to be beyond the error, in the unit of the value; None where no
    figure is known or the two may not be compared. ``aside`` says what stands beside the numbers: that the
    newest entry holds none, or why nothing is compared.
    """

    label: str
    unit: str
    first: Decimal | None = None
    first_on: date | None = None
    last: Decimal | None = None
    last_on: date | None = None
    other: Decimal | None = None
    error: Decimal | None = None
    error_said: str = ""
    """The figure as it is told: in points and degrees, of strength in per cent."""
    one_rater: bool | None = None
    """True where one known rater measured both, False where not, None where it is asked and not measured."""
    aside: str = ""

    @property
    def moved(self) -> Decimal | None:
        """Last minus first, as the scale counts."""
        return None if self.first is None or self.last is None else self.last - self.first

    @property
    def beyond(self) -> bool | None:
        """Whether the change reaches the error; None where that cannot be said."""
        moved = self.moved
        return None if moved is None or self.error is None else abs(moved) >= self.error


def pain_changes(view: View) -> list[Change]:
    """Worst pain, and the nights that it wakes, as told at visits."""
    spec = view.instruments.get(RATING)
    figure = spec.detectable if spec else None
    worst = _change(view, WORST, _told(view, WORST))
    if figure and worst.last is not None:
        worst = replace(worst, error=figure.value, error_said=f"{plain(figure.value)}{figure.mark}")
    return [worst, _change(view, NIGHTS, _told(view, NIGHTS))]


def range_changes(view: View) -> list[Change]:
    """Every range of movement in degrees that was ever asked for; two are named in any case."""
    names = [spec.key for spec in view.rules.measures.values() if spec.unit == DEGREES]
    return [_range(view, name) for name in names if name in ALWAYS or all_named(view, name)]


def strength_changes(view: View) -> list[Change]:
    """Every strength test that was ever asked for."""
    return [_strength(view, name) for name in STRENGTHS if all_named(view, name)]


def _told(view: View, name: str) -> list[Measure]:
    """Values told since the tissue of the pathway counts: before an operation was another."""
    start = view.segment_start
    return [m for m in all_named(view, name) if m.real and (start is None or m.on >= start)]


def _range(view: View, name: str) -> Change:
    found = series(view, name, early=True)
    made = _change(view, name, found)
    if made.last is None:
        return made
    same = _one_rater(found)
    error = Decimal(view.rules["drift.same_watch" if same else "drift.other_watch"])
    return replace(made, error=error, error_said=plain(error), one_rater=same)


def _strength(view: View, name: str) -> Change:
    told, usual = _told(view, name), view.rules.measures[name].unit
    unit = (told[-1].unit or usual) if told else usual
    found = [m for m in told if (m.unit or usual) == unit and is_like(m, told[-1])]
    made = _change(view, name, found, unit)
    if made.last is None or unit not in (KILOGRAMS, PER_CENT):
        return made
    same = _one_rater(found)
    share = view.rules["strength.error_same" if same else "strength.error_other"]
    error = abs(number(found[0])) * share / 100
    return replace(made, error=error, error_said=f"{share} per cent", one_rater=same)


def _one_rater(found: list[Measure]) -> bool:
    """Whether one known rater measured the first and the last: only then is the smaller error the one."""
    return found[0].rater is not None and found[0].rater == found[-1].rater


def _change(view: View, name: str, found: list[Measure], unit: str = "") -> Change:
    """First and last of ``found``, the other side, and what the newest entry says where it is no number."""
    spec, other = view.rules.measures[name], other_side(view, name)
    first, last = (found[0], found[-1]) if found else (None, None)
    several, unit = len(found) > 1, unit or spec.unit
    return Change(
        label=spec.label,
        unit=unit,
        first=number(first) if first else None,
        first_on=first.on if first else None,
        last=number(last) if last and several else None,
        last_on=last.on if last and several else None,
        other=number(other) if other and (other.unit or spec.unit) == unit else None,
        aside=_aside(view, name, found),
    )


def _aside(view: View, name: str, found: list[Measure]) -> str:
    """What was recorded and is none of ``found``: a later absence or repeat, values that are not compared."""
    every = all_named(view, name)
    newest = every[-1] if every else None
    if newest is None:
        return ""
    if isinstance(newest.value, Absence):
        return f"{value_words(newest.value)} on {day_year(newest.on)}"
    if newest.repeated:
        return f"repeated on {day_year(newest.on)}, not measured"
    left = len([m for m in _told(view, name) if m not in found])
    return f"{left} more value{'s' if left > 1 else ''} not compared" if left else ""


# --- in words -------------------------------------------------------------------------------------------


def in_words(changes: list[Change]) -> list[str]:
    """The measures as sentences: those of the same two dates together, what was never measured last."""
    dated: dict[tuple[date | None, date | None], list[str]] = {}
    for change in sorted(changes, key=lambda change: change.first is None):
        dated.setdefault((change.first_on, change.last_on), []).append(clause(change))
    return [_since(first, last) + "; ".join(said) for (first, last), said in dated.items()]


def _since(first: date | None, last: date | None) -> str:
    if first is None:
        return ""
    return f"{day_year(first)} to {day_year(last)}: " if last else f"{day_year(first)} alone: "


def clause(change: Change) -> str:
    """One measure without its dates: values, other side, change and error."""
    if change.first is None:
        return f"{change.label} {change.aside or 'not recorded'}"
    values = " to ".join(plain(value) for value in (change.first, change.last) if value is not None)
    unit = "" if change.unit in (DEGREES, OF_TEN) else f" {change.unit}"
    other = f" (other side {plain(change.other)})" if change.other is not None else ""
    said = f"{change.label} {values}{unit}{other}"
    return ", ".join(filter(None, (said, moved_words(change), error_words(change), change.aside)))


def moved_words(change: Change) -> str:
    """The change with its sign; nothing of a measure that has none."""
    moved = change.moved
    return "" if moved is None else f"change {signed(moved)}"


def signed(moved: Decimal) -> str:
    """Last minus first with its sign."""
    return f"{'+' if moved > 0 else ''}{plain(moved)}"


def error_words(change: Change) -> str:
    """Whether the change is beyond the error of measuring it; of one that is not by one rater, that too."""
    if change.beyond is None:
        return ""
    by = ", not by one rater" if change.one_rater is False else ""
    return f"{'beyond' if change.beyond else 'within'} error {change.error_said}{by}"
