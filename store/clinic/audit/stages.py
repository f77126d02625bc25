"""Time in each stage for an audit: how many stays, how many moved on, and how long they took."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from armrise.store.clinic.audit.facts import Stayed
from armrise.store.clinic.audit.share import Share
from armrise.store.clinic.time.duration import Drop, survival
from armrise.store.record.light import dataclass
from armrise.store.rules.pathway import Rules, Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """How many stays went past a number of days: of all, with those too young to know said apart."""

    days: int
    past: Share
    not_known: int
    """Still there, or left another way, before those days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageTime:
    """Time in one stage over all stays up to the end of the period. ``median`` None: not reached."""

    stage: str
    name: str
    count: int
    moved_on: int
    still_there: int
    left_otherwise: int
    moved_in_period: int
    median: int | None
    longest: int
    few: bool
    """So few moved on that the median is not said (JSON has it)."""
    usual: Past | None
    stall: Past | None
    drops: tuple[Drop, ...]
    censored: tuple[int, ...]
    """Days of the stays that did not end by moving on, so far or until they ended."""

    @property
    def curve(self) -> list[tuple[int, float]]:
        """The corners of the step curve, (days, share still in the stage), up to the longest stay."""
        corners, level = [(0, 1.0)], 1.0
        for drop in self.drops:
            corners += [(drop.days, level), (drop.days, float(drop.still))]
            level = float(drop.still)
        return [*corners, (self.longest, level)]

    def level(self, days: int) -> float:
        """The share still in the stage after ``days``."""
        return float(next((d.still for d in reversed(self.drops) if d.days <= days), 1.0))


def stage_times(stayed: Sequence[Stayed], rules: Rules) -> Iterable[StageTime]:
    """Stages with any stay, in the order of the rule files; those no file has any more at the end."""
    stages = {stage.code: stage for pathway in rules.pathways.values() for stage in pathway.stages}
    found = {s.stay.stage for s in stayed}
    for code in [*(c for c in stages if c in found), *sorted(found - set(stages))]:
        own = [s for s in stayed if s.stay.stage == code]
        yield stage_time(code, stages.get(code), own, rules["stays.least"])


def stage_time(code: str, stage: Stage | None, stayed: Sequence[Stayed], least: int) -> StageTime:
    """Time in one stage; who is still there counts too. ``least``: moved on, before a median is said."""
    stays = [s.stay for s in stayed]
    estimate = survival(stay.pair for stay in stays)
    moved = sum(stay.moved_on for stay in stays)
    still = sum(stay.left == "still there" for stay in stays)
    return StageTime(
        stage=code,
        name=stage.name if stage else "not in the rule file",
        count=len(stays),
        moved_on=moved,
        still_there=still,
        left_otherwise=len(stays) - moved - still,
        moved_in_period=sum(s.moved_in_period for s in stayed),
        median=estimate.median if estimate else None,
        few=moved < least,
        longest=max((stay.days for stay in stays), default=0),
        usual=_past(stage.usual.whole, stayed) if stage else None,
        stall=_past(stage.stall.whole, stayed) if stage else None,
        drops=estimate.drops if estimate else (),
        censored=tuple(sorted(stay.days for stay in stays if not stay.moved_on)),
    )


def _past(days: int, stayed: Sequence[Stayed]) -> Past:
    past = sum(s.stay.days > days for s in stayed)
    within = sum(s.stay.days <= days and s.stay.moved_on for s in stayed)
    return Past(days=days, past=Share(past, len(stayed)), not_known=len(stayed) - past - within)
