"""The class of one session: flare, over the limit, raised next morning, incomplete, good (ruling 77).

Pain is held against the stage's limit, and a flare also against what is usual for this shoulder: one that is
steadily sore is over its limit day after day, which is a matter of dose, and is not in a flare every day.
"""

from __future__ import annotations

from armrise.store.record.light import NamedTuple
from armrise.store.rules.pathway import Rules

FLARE, OVER, RAISED, INCOMPLETE, GOOD = "flare", "over", "raised", "incomplete", "good"
WORST_FIRST = (FLARE, OVER, RAISED, INCOMPLETE, GOOD)
IN_WORDS = {name: name for name in WORST_FIRST} | {OVER: "over the limit"}


class Part(NamedTuple):
    """Pain ``when`` ("during", "later") of one session, 0-10, and what it is held against; None unknown."""

    when: str
    value: int | None
    limit: int
    usual: int | None
    reference: int
    """The limit, or what is usual where that is higher: a flare lies so far above this."""

    @classmethod
    def of(
        cls, rules: Rules, when: str, value: int | None, limit: int, usual: int | None, *, healing: bool
    ) -> Part:
        """Usual pain lifts the reference up to a figure; where tissue heals hardly above the limit."""
        most = rules["usual.most"]
        if healing:
            most = min(most, limit + rules["usual.healing_most"])
        lifted = limit if usual is None else max(limit, min(usual, most))
        return cls(when, value, limit, usual, lifted)

    @property
    def over(self) -> int:
        """Points above the limit; 0 at or below it, and where the pain is unknown."""
        return 0 if self.value is None else max(0, self.value - self.limit)

    def is_flare(self, points: int) -> bool:
        """Whether the pain is known to lie at least ``points`` above what is usual and above the limit."""
        return self.value is not None and self.value >= self.reference + points

    @property
    def words(self) -> str:
        """ "pain during 7, limit 4"; with what is usual where that lies above the limit."""
        said = f"pain {self.when} {self.value}, limit {self.limit}"
        return said if self.usual is None or self.usual <= self.limit else f"{said}, usual {self.usual}"


class NextMorning(NamedTuple):
    """Pain on waking on the day after, 0-10, with its rise over the baseline; None unknown."""

    value: int | None
    rise: int | None
    limit: int
    """How far it may rise."""
    ceiling: bool
    """So near the top of the scale that no rise over the baseline could show."""

    @classmethod
    def of(cls, rules: Rules, value: int | None, baseline: int | None, limit: int) -> NextMorning:
        """Pain on waking over a baseline."""
        if value is None or baseline is None:
            return cls(value, None, limit, False)
        ceiling = baseline >= rules["ceiling.baseline"] and value >= rules["ceiling.morning"]
        return cls(value, value - baseline, limit, ceiling)

    @property
    def over(self) -> int:
        """Points of rise above what is allowed; 0 without one."""
        return 0 if self.rise is None else max(0, self.rise - self.limit)

    @property
    def words(self) -> str:
        """ "next morning 5, 3 above baseline"."""
        return f"next morning {self.value}, {self.rise} above baseline"


def breach(
    rules: Rules, during: Part, later: Part, morning: NextMorning, *, healing: bool
) -> tuple[str, str] | None:
    """(class, what broke the limit) of the worst known breach; a missing score hides none."""
    flared = _flare(rules, during, later, morning, healing=healing)
    if flared:
        return FLARE, flared
    for part in (during, later):
        if part.over:
            return OVER, part.words
    return (RAISED, morning.words) if morning.over else None


def _flare(rules: Rules, during: Part, later: Part, morning: NextMorning, *, healing: bool) -> str:
    """What makes a session a flare, in words; empty when nothing does."""
    if during_flares(rules, during):
        return during.words
    if later_flares(rules, later, healing=healing):
        return later.words
    if not morning_flares(rules, morning):
        return ""
    near = f"next morning {morning.value}, near the ceiling of the scale"
    return morning.words if _risen_far(rules, morning) else near


def during_flares(rules: Rules, during: Part) -> bool:
    """Whether pain during makes a session a flare."""
    top = during.value is not None and during.value >= rules["response.during_top"]
    far = during.is_flare(rules["response.flare_over_during"])
    return far or (top and during.is_flare(rules["response.during_top_over"]))


def later_flares(rules: Rules, later: Part, *, healing: bool) -> bool:
    """Whether pain later makes it one."""
    return later.is_flare(
        rules["response.flare_over_later_healing" if healing else "response.flare_over_later"]
    )


def morning_flares(rules: Rules, morning: NextMorning) -> bool:
    """Whether the next morning makes it one."""
    return morning.ceiling or _risen_far(rules, morning)


def _risen_far(rules: Rules, morning: NextMorning) -> bool:
    high = morning.value is not None and morning.value >= rules["response.flare_morning"]
    return morning.over >= 2 or bool(morning.over and high)
