"""Care given: visits, calls and messages, slots and what became of them, decisions of the weekly sweep."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from armrise.store.record.fields import Choice, Day, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import ANSWERABLE, Entry

CONTACT_OUTCOMES = (
    "spoke",
    "message answered",
    "no answer",
    "wrong number",
    "message left",
    "message received",
)
SPOKEN = ("spoke", "message answered")
"""Outcomes that are a contact; the others are an attempt, or an incoming message nobody has answered."""
ATTENDANCES = (
    "attended",
    "did not attend",
    "was not brought",
    "cancelled by patient",
    "cancelled by clinic",
)
MISSED = ("did not attend", "was not brought")
SWEEP_DECISIONS = ("seen", "rebook", "phone", "hold", "discharge", "refer")
"""What may be decided of an overdue case in the weekly sweep: exactly one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit(Entry):
    """A person was seen. ``interval`` (days) sets the next review; without it the stage's interval holds."""

    KIND: ClassVar[str] = "visit"

    mode: str = may(Choice(("in person", "video")), "in person")
    interval: int | None = may(Whole(1, 366, "days"))
    injury_assessed: bool = may(Flag(), False)
    decision: bool = may(Flag(), False)
    load_cut: bool = may(Flag(), False)
    plan_corrected: bool = may(Flag(), False)
    answers: str | None = may(Choice(ANSWERABLE))
    usual_morning: int | None = may(Whole(0, 10))
    anything_new: str = may(Choice(("yes", "no", "not asked")), "not asked")
    """Whether the patient was asked for fever, numbness, a fall or weight loss, and said so."""
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact(Entry):
    """A call or message, in either direction."""

    KIND: ClassVar[str] = "contact"

    outcome: str = must(Choice(CONTACT_OUTCOMES))
    load_cut: bool = may(Flag(), False)
    plan_corrected: bool = may(Flag(), False)
    surgeon_told: bool = may(Flag(), False)
    note: str | None = may(Words())

    @property
    def spoken(self) -> bool:
        """True when somebody spoke with the patient or carer, or a written message was answered."""
        return self.outcome in SPOKEN


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment(Entry):
    """A slot booked on ``on`` for the date ``booked_for``."""

    KIND: ClassVar[str] = "appointment"

    booked_for: date = must(Day(future=True))
    reason: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Attendance(Entry):
    """What became of the slot booked for ``booked_for``."""

    KIND: ClassVar[str] = "attendance"

    booked_for: date = must(Day(future=True))
    outcome: str = must(Choice(ATTENDANCES))


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepDecision(Entry):
    """The one decision taken of an overdue case in the weekly sweep; it leaves the sweep until ``until``."""

    KIND: ClassVar[str] = "sweep decision"

    decision: str = must(Choice(SWEEP_DECISIONS))
    until: date = must(Day(future=True))
    reasons: str = must(Words(200))
    """The reasons in words that brought the case into the sweep."""
    overdue_days: int | None = may(Whole(0, 3660, "days"))
    note: str | None = may(Words())
