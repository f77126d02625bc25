"""What a dose is made of: sets, repetitions or seconds, and a load that is at home; lower and higher."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from armrise.store.clinic.case.view import View, newest
from armrise.store.record.kinds.programme import ISOMETRIC, HomeLoads, ProgrammeItem
from armrise.store.record.light import dataclass
from armrise.store.record.words import plain
from armrise.store.rules.pathway import Rules

ONE_SET_FEWER = "one set fewer"
_WAY = ("assist", "lift_s", "pause_s", "lower_s", "lower_s_high")


@dataclass(frozen=True, slots=True)
class Dose:
    """Sets x repetitions (or seconds held), with kilograms or a band grade 1 to 6, or neither.

    The movement goes from ``arc_from`` to ``arc_to``, in degrees; None: no arc is set.
    """

    sets: int
    reps: int
    hold: int | None = None
    load: Decimal | None = None
    band: int | None = None
    arc_from: int | None = None
    arc_to: int | None = None

    @classmethod
    def of(cls, item: ProgrammeItem) -> Dose:
        """The dose an item prescribes."""
        return cls(item.sets, item.reps, item.hold, item.load, item.band, item.arc_from, item.arc_to)

    def words(self, item: ProgrammeItem) -> str:
        """ "3 x 8 at 2 kg", "3 x 8, band 3", "5 x 30 s"."""
        if counts_hold(item):
            count = f"{self.sets} x {self.hold} s" if self.reps == 1 else f"{self.sets} x {self.reps}"
            said = count if self.reps == 1 else f"{count}, held {self.hold} s"
        else:
            said = f"{self.sets} x {self.reps}{' s' if item.load_class in ISOMETRIC else ''}"
        before = " " if self.load is not None else ", " if self.band is not None else ""
        return f"{said}{before}{self.load_words()}"

    def load_words(self) -> str:
        """ "at 2 kg", "band 3", or nothing."""
        if self.load is not None:
            return f"at {plain(self.load)} kg"
        return f"band {self.band}" if self.band is not None else ""


def counts_hold(item: ProgrammeItem) -> bool:
    """True for isometric work whose seconds stand in ``hold``; without it ``reps`` are the seconds."""
    return item.load_class in ISOMETRIC and item.hold is not None


def amount(item: ProgrammeItem) -> int:
    """What is raised before the load: repetitions, or seconds of isometric work."""
    return item.hold if counts_hold(item) and item.hold is not None else item.reps


def amount_word(item: ProgrammeItem) -> str:
    """ "repetitions" or "seconds"."""
    return "seconds" if item.load_class in ISOMETRIC else "repetitions"


def with_amount(dose: Dose, item: ProgrammeItem, number: int) -> Dose:
    """The dose at ``number`` repetitions, or seconds."""
    return replace(dose, hold=number) if counts_hold(item) else replace(dose, reps=number)


def target_range(item: ProgrammeItem) -> tuple[int, int] | None:
    """Lowest and highest repetitions (seconds) of an item; None where no whole range is set."""
    low, high = item.reps_low, item.reps_high
    return None if low is None or high is None or low > high else (low, high)


def lowest(item: ProgrammeItem) -> int:
    """Where the repetitions start anew: the low end of the range, and never more than now."""
    spread = target_range(item)
    return min(spread[0], amount(item)) if spread else amount(item)


@dataclass(frozen=True, slots=True)
class Home:
    """Weights (kg) and band grades the patient has at home; ``entry`` is None while nobody recorded them."""

    weights: tuple[Decimal, ...] = ()
    bands: tuple[int, ...] = ()
    entry: HomeLoads | None = None
    heaviest: Decimal | None = None
    """The lifting limit the surgeon has ordered, if one is in force."""

    @classmethod
    def of(cls, view: View) -> Home:
        """The newest record of what is at home, and the ordered limit of today."""
        entry: HomeLoads | None = newest(view.upto("home_loads"))
        limit = view.last_order("lifting_limit", view.today)
        most = limit[0] if limit else None
        if entry is None:
            return cls(heaviest=most)
        weights = sorted({w for w in entry.weights if w is not None and w > 0})
        bands = sorted({int(b) for b in entry.bands if b is not None})
        return cls(tuple(weights), tuple(bands), entry, most)

    @property
    def known(self) -> bool:
        """Whether anybody has recorded what is at home."""
        return self.entry is not None

    @property
    def allowed_weights(self) -> tuple[Decimal, ...]:
        """The weights within the ordered limit."""
        return tuple(w for w in self.weights if self.heaviest is None or w <= self.heaviest)

    def lower(self, item: ProgrammeItem, percent: int) -> Dose | None:
        """The item at the heaviest load of at most ``percent`` of now; a band at the next grade below."""
        dose = Dose.of(item)
        if item.load is not None:
            wanted = wanted_load(item.load, percent)
            found = max((w for w in self.weights if w <= wanted and w < item.load), default=None)
            return None if found is None else replace(dose, load=found)
        grade = max((b for b in self.bands if item.band is not None and b < item.band), default=None)
        return None if grade is None else replace(dose, band=grade)

    def higher(self, item: ProgrammeItem) -> Dose | None:
        """The item at the next heavier load at home and within the ordered limit; None: there is none."""
        dose = Dose.of(item)
        if item.load is not None:
            heavier = [w for w in self.allowed_weights if w > item.load]
            return replace(dose, load=min(heavier)) if heavier else None
        grade = min((b for b in self.bands if item.band is not None and b > item.band), default=None)
        return None if grade is None else replace(dose, band=grade)


def wanted_load(load: Decimal, percent: int) -> Decimal:
    """``percent`` of a load, in kg."""
    return load * percent / 100


def is_loaded(item: ProgrammeItem) -> bool:
    """True for work against a weight or a band."""
    return item.load is not None or item.band is not None


def deload(item: ProgrammeItem, home: Home, rules: Rules) -> tuple[Dose, str] | None:
    """The dose after taking load away, and how; None when nothing is left to lower (practice note 5.2, 3)."""
    percent = rules["dose.deload_percent"]
    lower = home.lower(item, percent)
    if lower is not None:
        return with_amount(lower, item, lowest(item)), _lower_words(item, lower, percent)
    why = _why_not_lower(item, home, percent)
    if item.sets > 1:
        fewer = replace(Dose.of(item), sets=item.sets - 1)
        return with_amount(fewer, item, lowest(item)), f"{why}{ONE_SET_FEWER}"
    if lowest(item) < amount(item):
        return with_amount(Dose.of(item), item, lowest(item)), f"{why}fewer {amount_word(item)}"
    return None


def _lower_words(item: ProgrammeItem, lower: Dose, percent: int) -> str:
    if item.load is None or lower.load is None:
        return f"next lighter band at home, {lower.band}"
    wanted = wanted_load(item.load, percent)
    if wanted == lower.load:
        return f"{percent} % of {plain(item.load)} kg"
    return f"{plain(lower.load)} kg, the next at home below {plain(wanted)} kg"


def _why_not_lower(item: ProgrammeItem, home: Home, percent: int) -> str:
    if not is_loaded(item):
        return ""
    if home.known:
        return "nothing lighter at home: "
    wanted = f"{plain(wanted_load(item.load, percent))} kg or less" if item.load else "a lighter band"
    return f"{wanted} wanted, record the weights at home; until then "


def step_percent(item: ProgrammeItem, heavier: Dose) -> Decimal | None:
    """How much heavier the next load is, in per cent; None for a band, whose grades are no scale."""
    if not item.load or heavier.load is None:
        return None
    return (heavier.load - item.load) * 100 / item.load


def load_change(before: ProgrammeItem, after: ProgrammeItem) -> int:
    """1 when weight or band went up, -1 when down, 0 when neither or when they cannot be compared."""
    changes = ((after.load or 0) - (before.load or 0), (after.band or 0) - (before.band or 0))
    kilograms, grades = ((change > 0) - (change < 0) for change in changes)
    return kilograms + grades if kilograms * grades >= 0 else 0


def is_raised(before: ProgrammeItem, after: ProgrammeItem, order: tuple[str, ...]) -> bool:
    """True when a new version asks for more: a heavier class, more load, or more of it at no less load."""
    if order.index(after.load_class) > order.index(before.load_class):
        return True
    moved = load_change(before, after)
    if moved:
        return moved > 0
    more = amount(after) > amount(before) or after.sets > before.sets
    wider = (after.arc_to or 0) > (before.arc_to or 0) > 0
    return more or wider or (after.per_week or 0) > (before.per_week or 0) > 0


def same_dose(first: ProgrammeItem, second: ProgrammeItem) -> bool:
    """True when two versions ask for the same: dose, class, who lifts and how slowly. A tempo in words of an
    older record is printed and read no more (ruling 82)."""
    alike = Dose.of(first) == Dose.of(second) and first.load_class == second.load_class
    return alike and all(getattr(first, name) == getattr(second, name) for name in _WAY)
