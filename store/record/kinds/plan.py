"""The plan: steps, overrides, holds, reasons in hand, orders and clearances."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import ClassVar

from armrise.store.record.fields import Choice, Day, Flag, Number, Whole, Words, may, must
from armrise.store.record.kinds.head import Entry

HOLD_REASONS = (
    "holiday",
    "illness",
    "awaiting imaging",
    "awaiting surgeon",
    "injection",
    "bereavement",
    "patient's request",
    "other",
)
OVERRIDE_CATEGORIES = (
    "patient goal",
    "clinical judgement",
    "surgeon's instruction",
    "measure unreliable",
    "other",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Entry):
    """The case enters ``stage``. The first one is the assessment's placing and no step."""

    KIND: ClassVar[str] = "step"

    stage: str = must(Words(4, 3))
    direction: str = must(Choice(("placing", "forward", "back")))
    override_category: str | None = may(Choice(OVERRIDE_CATEGORIES))
    override_reason: str | None = may(Words(200, 10))
    verdict: str | None = may(Words(40))
    rules: str | None = may(Words(60))


def pathway_code(stage: str) -> str:
    """The code of the pathway that a stage code begins with: the rule files number the stages of each."""
    return stage.rstrip("0123456789")


@dataclass(frozen=True, slots=True, kw_only=True)
class Override(Entry):
    """A decision against the rule that is no step: staying on ready, staying on step back advised."""

    KIND: ClassVar[str] = "override"

    against: str = must(Words(60))
    category: str = must(Choice(OVERRIDE_CATEGORIES))
    reason: str = must(Words(200, 10))
    rules: str | None = may(Words(60))
    """The rule version, and whether it was signed off, under which the verdict was given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold(Entry):
    """An agreed pause from ``on`` until ``until`` (exclusive). A later hold replaces an earlier one;
    ``until`` equal to ``on`` ends it."""

    KIND: ClassVar[str] = "hold"

    until: date = must(Day(future=True))
    reason: str = must(Choice(HOLD_REASONS))
    note: str | None = may(Words())
    named: str | None = may(Words(60))
    """The surgeon or lead who agreed, needed in a protected stage."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand(Entry):
    """A clinician answers one reason with an action and a date."""

    KIND: ClassVar[str] = "in hand"

    reason: str = must(Words(60))
    """The reason's name in words, as the list shows it."""
    action: str = must(Words())
    until: date = must(Day(future=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders(Entry):
    """The surgeon's written orders, in force from ``on`` (the date of the document)."""

    KIND: ClassVar[str] = "orders"

    surgeon: str | None = may(Words(60))
    operation: str | None = may(Words(80))
    tear_size: str | None = may(Choice(("small", "medium", "large", "massive")))
    poor_tissue: bool = may(Flag(), False)
    tendons: str | None = may(Words(80))
    sling_until: date | None = may(Day(future=True))
    external_rotation_limit: int | None = may(Whole(-20, 110, "degrees"))
    elevation_limit: int | None = may(Whole(0, 180, "degrees"))
    no_active_until: date | None = may(Day(future=True))
    no_resisted_until: date | None = may(Day(future=True))
    lifting_limit: Decimal | None = may(Number(0, 100, 2, "kg"))
    stage2_from: date | None = may(Day(future=True))
    stage3_from: date | None = may(Day(future=True))
    stage4_from: date | None = may(Day(future=True))
    stage5_from: date | None = may(Day(future=True))
    text: str | None = may(Words(400))

    def stage_from(self, number: int) -> date | None:
        """The date on which these orders open stage ``number`` (2 to 5), if they say so."""
        dates = (None, None, self.stage2_from, self.stage3_from, self.stage4_from, self.stage5_from)
        return dates[number] if 2 <= number <= 5 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance(Entry):
    """Recorded permission to pass a limit. ``scope`` "resisted" is asked for separately."""

    KIND: ClassVar[str] = "clearance"

    by: str = must(Choice(("surgeon", "union", "stability")))
    scope: str = may(Choice(("movement", "resisted")), "movement")
    answer: str = must(Choice(("yes", "no", "not known", "withdrawn")))
