"""Care given: visits, calls and messages, slots and what became of them, decisions of the weekly sweep."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from armrise.store.record.fields import Choice, ClockTime, Day, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import ANSWERABLE, NEWS, NEWS_WORDS, Entry, Names
from armrise.store.record.light import dataclass
from armrise.store.record.words import count_days, joined, listed, placed

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
RECEIVED = "message received"
"""What came in, and is no contact until it is answered."""
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
    MEANING: ClassVar[str] = "somebody was seen; sets the next review"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    mode: str = may(Choice(("in person", "video")), "in person")
    interval: int | None = may(Whole(1, 366, "days"))
    injury_assessed: bool = may(Flag(), False)
    decision: bool = may(Flag(), False)
    load_cut: bool = may(Flag(), False)
    plan_corrected: bool = may(Flag(), False)
    surgeon_told: bool = may(Flag(), False)
    answers: str | None = may(Choice(ANSWERABLE))
    usual_morning: int | None = may(Whole(0, 10))
    anything_new: str = may(Choice(NEWS), "not asked")
    """Fever, numbness, a fall, weight loss or unsteadiness since the last visit, as the patient says."""
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """A visit, what it set, and what was done in it."""
        video = " by video" if self.mode == "video" else ""
        review = f"next review in {count_days(self.interval)}" if self.interval is not None else ""
        done = listed(
            review,
            NEWS_WORDS[self.anything_new],
            "injury assessed" if self.injury_assessed else "",
            "decision taken" if self.decision else "",
            "load cut" if self.load_cut else "",
            "plan corrected" if self.plan_corrected else "",
            "surgeon told" if self.surgeon_told else "",
            f"answers {self.answers}" if self.answers else "",
            f"usual morning pain {self.usual_morning}" if self.usual_morning is not None else "",
        )
        return joined(f"visit{video}{placed('on', day)}", done, self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact(Entry):
    """A call or message, in either direction."""

    KIND: ClassVar[str] = "contact"
    MEANING: ClassVar[str] = "a call or message"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    outcome: str = must(Choice(CONTACT_OUTCOMES))
    load_cut: bool = may(Flag(), False)
    plan_corrected: bool = may(Flag(), False)
    surgeon_told: bool = may(Flag(), False)
    anything_new: str = may(Choice(NEWS), "not asked")
    """Fever, numbness, a fall, weight loss or unsteadiness since the last visit, as the patient says."""
    note: str | None = may(Words())

    @property
    def spoken(self) -> bool:
        """True when somebody spoke with the patient or carer, or a written message was answered."""
        return self.outcome in SPOKEN

    def sentence(self, names: Names | None, day: str) -> str:
        """How the contact ended, and what was done in it."""
        done = listed(
            self.outcome,
            NEWS_WORDS[self.anything_new],
            "load cut" if self.load_cut else "",
            "plan corrected" if self.plan_corrected else "",
            "surgeon told" if self.surgeon_told else "",
        )
        return joined(f"contact{placed('on', day)}: {done}", self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment(Entry):
    """A slot booked on ``on`` for the date ``booked_for``."""

    KIND: ClassVar[str] = "appointment"
    MEANING: ClassVar[str] = "a slot was booked"
    GROUPS: ClassVar[tuple[str, ...]] = ("paperwork",)

    booked_for: date = must(Day(future=True))
    at: str | None = may(ClockTime())
    """The hour of the slot; None where it was not told."""
    reason: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """The slot, and why it was booked."""
        why = f": {self.reason}" if self.reason else ""
        return f"booked{placed('on', day)} for {self.near(self.booked_for)}{placed('at', self.at or '')}{why}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attendance(Entry):
    """What became of the slot booked for ``booked_for``."""

    KIND: ClassVar[str] = "attendance"
    MEANING: ClassVar[str] = "what became of a booked slot"
    GROUPS: ClassVar[tuple[str, ...]] = ("paperwork",)

    booked_for: date = must(Day(future=True))
    at: str | None = may(ClockTime())
    """The hour of the slot; None where it was not told."""
    outcome: str = must(Choice(ATTENDANCES))

    def sentence(self, names: Names | None, day: str) -> str:
        """The slot and what became of it; the day of the answer only when it is another one."""
        same = self.on == self.booked_for
        slot = f"slot of {(same and day) or self.near(self.booked_for)}{placed('at', self.at or '')}"
        return f"{slot}: {self.outcome}{f', told on {day}' if day and not same else ''}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepDecision(Entry):
    """The one decision taken of an overdue case in the weekly sweep; it leaves the sweep until ``until``."""

    KIND: ClassVar[str] = "sweep decision"
    MEANING: ClassVar[str] = "the decision of a weekly sweep"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    decision: str = must(Choice(SWEEP_DECISIONS))
    until: date = must(Day(future=True))
    reasons: str = must(Words(200))
    """The reasons in words that brought the case into the sweep."""
    overdue_days: int | None = may(Whole(0, 3660, "days"))
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """The decision, until when it holds, and the reasons it was taken for."""
        out = f", out of the sweep until {self.near(self.until)}" if self.until > self.on else ""
        over = f" ({count_days(self.overdue_days)} overdue)" if self.overdue_days else ""
        said = f"weekly sweep{placed('on', day)}: {self.decision}{out}"
        return joined(said, f"{self.reasons}{over}", self.note)
