"""The plan: steps, overrides, holds, reasons in hand, orders and clearances."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import ClassVar

from armrise.store.record.fields import Choice, Day, Flag, Number, Whole, Words, may, must
from armrise.store.record.kinds.head import Entry, Names
from armrise.store.record.light import dataclass
from armrise.store.record.words import joined, listed, placed, rules_words, value_words

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

CLEARANCES = ("yes", "no", "not known", "withdrawn")
"""What was answered to the question whether the shoulder is cleared for something."""
NOT_ALLOWED = "not allowed:"
"""How an override begins that puts an exercise into the programme; the others keep a case where it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Entry):
    """The case enters ``stage``. The first one is the assessment's placing and no step."""

    KIND: ClassVar[str] = "step"
    MEANING: ClassVar[str] = "the placing in a first stage, or in another pathway"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    stage: str = must(Words(4, 3))
    direction: str = must(Choice(("placing", "forward", "back")))
    override_category: str | None = may(Choice(OVERRIDE_CATEGORIES))
    override_reason: str | None = may(Words(200, 10))
    verdict: str | None = may(Words(40))
    rules: str | None = may(Words(60))

    def sentence(self, names: Names | None, day: str) -> str:
        """Where the case went, under which verdict and rules, and why against them."""
        how = "placed in" if self.direction == "placing" else f"stepped {self.direction} to"
        verdict = f"the verdict was {self.verdict}" if self.verdict else ""
        override = listed(self.override_category, self.override_reason)
        return joined(
            f"{how} {self.stage}{placed('on', day)}",
            listed(verdict, rules_words(self.rules or "")),
            f"override: {override}" if override else "",
        )


def pathway_code(stage: str) -> str:
    """The code of the pathway that a stage code begins with: the rule files number the stages of each."""
    return stage.rstrip("0123456789")


@dataclass(frozen=True, slots=True, kw_only=True)
class Override(Entry):
    """A decision against the rule that is no step: staying on ready, staying on step back advised."""

    KIND: ClassVar[str] = "override"
    MEANING: ClassVar[str] = "staying against the verdict"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    against: str = must(Words(60))
    category: str = must(Choice(OVERRIDE_CATEGORIES))
    reason: str = must(Words(200, 10))
    rules: str | None = may(Words(60))
    """The rule version, and whether it was signed off, under which the verdict was given."""

    def sentence(self, names: Names | None, day: str) -> str:
        """What was decided against which verdict or limit, and why."""
        if self.against.startswith(NOT_ALLOWED):
            said = f"programme{placed('from', day)} by override, {self.against}"
        else:
            said = f"stays{placed('on', day)}, against {self.against}"
        return joined(f"{said}: {self.category}, {self.reason}", rules_words(self.rules or ""))


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold(Entry):
    """An agreed pause from ``on`` until ``until`` (exclusive). A later hold replaces an earlier one;
    ``until`` equal to ``on`` ends it."""

    KIND: ClassVar[str] = "hold"
    MEANING: ClassVar[str] = "an agreed pause, or its end"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    until: date = must(Day(future=True))
    reason: str = must(Choice(HOLD_REASONS))
    note: str | None = may(Words())
    named: str | None = may(Words(60))
    """The surgeon or lead who agreed, needed in a protected stage."""

    def sentence(self, names: Names | None, day: str) -> str:
        """Until when and why, who agreed; or that it ended."""
        if self.until <= self.on:
            return joined(f"hold ended{placed('on', day)} ({self.reason})", self.note)
        return joined(
            f"on hold{placed('from', day)} until {self.near(self.until)}: {self.reason}",
            f"agreed with {self.named}" if self.named else "",
            self.note,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand(Entry):
    """A clinician answers one reason with an action and a date."""

    KIND: ClassVar[str] = "in hand"
    MEANING: ClassVar[str] = "a reason answered until a date"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    reason: str = must(Words(60))
    """The reason's name in words, as the list shows it."""
    action: str = must(Words())
    until: date = must(Day(future=True))

    def sentence(self, names: Names | None, day: str) -> str:
        """The reason, until when, and what is done."""
        return f'"{self.reason}" in hand{placed("from", day)} until {self.near(self.until)}: {self.action}'


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders(Entry):
    """The surgeon's written orders, in force from ``on`` (the date of the document)."""

    KIND: ClassVar[str] = "orders"
    MEANING: ClassVar[str] = "the surgeon's written orders"
    GROUPS: ClassVar[tuple[str, ...]] = ("paperwork",)

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

    def sentence(self, names: Names | None, day: str) -> str:
        """Who ordered, after which operation, every limit with its date, and what else is written."""

        def until(words: str, date: date | None) -> str:
            return f"{words} {self.near(date)}" if date else ""

        def limit(words: str, value: int | Decimal | None, unit: str) -> str:
            return "" if value is None else f"{words} {value_words(value)} {unit}"

        limits = listed(
            f"{self.tear_size} tear" if self.tear_size else "",
            "poor tissue" if self.poor_tissue else "",
            self.tendons,
            until("sling until", self.sling_until),
            limit("external rotation to", self.external_rotation_limit, "degrees"),
            limit("elevation to", self.elevation_limit, "degrees"),
            until("no active work until", self.no_active_until),
            until("no resisted work until", self.no_resisted_until),
            limit("lifting to", self.lifting_limit, "kg"),
            *(until(f"stage {number} from", self.stage_from(number)) for number in range(2, 6)),
        )
        by = f" by {self.surgeon}" if self.surgeon else ""
        said = listed(f"surgeon's orders{placed('of', day)}{by}", self.operation)
        return joined(said, limits, self.text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance(Entry):
    """Recorded permission to pass a limit. ``scope`` "resisted" is asked for separately."""

    KIND: ClassVar[str] = "clearance"
    MEANING: ClassVar[str] = "permission to pass a limit, or its withdrawal"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions", "paperwork")

    by: str = must(Choice(("surgeon", "union", "stability")))
    scope: str = may(Choice(("movement", "resisted")), "movement")
    answer: str = must(Choice(CLEARANCES))

    def sentence(self, names: Names | None, day: str) -> str:
        """What is permitted, and by whom or what."""
        by = "the surgeon" if self.by == "surgeon" else f"evidence of {self.by}"
        what = "resisted work" if self.scope == "resisted" else "movement"
        return f"clearance of {what} by {by}{placed('on', day)}: {self.answer}"
