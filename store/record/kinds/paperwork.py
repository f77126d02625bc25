"""Paperwork and decisions: referrals and answers, letters, discharge, reopening, corrections."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from armrise.store.record.fields import Choice, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import ANSWERABLE, Entry

DISCHARGE_OUTCOMES = (
    "goal met",
    "self-managing",
    "referred on",
    "did not attend",
    "patient choice",
    "died",
    "moved",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Referral(Entry):
    """The case was referred on, on the date ``on``."""

    KIND: ClassVar[str] = "referral"

    to: str = must(Words(60))
    urgency: str = must(Choice(("same day", "urgent", "soon", "routine")))
    about: str = must(Choice(ANSWERABLE))
    surgeon_told: bool = may(Flag(), False)
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision(Entry):
    """A recorded decision about a named matter: carry on, plan reviewed, review not needed."""

    KIND: ClassVar[str] = "decision"

    about: str = must(Choice(ANSWERABLE))
    note: str = must(Words(200, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter(Entry):
    """A letter was sent (or drafted) on the date ``on``."""

    KIND: ClassVar[str] = "letter"

    about: str = must(Choice(("discharge", "referral", "progress", "missed visits")))
    state: str = may(Choice(("sent", "draft")), "sent")


@dataclass(frozen=True, slots=True, kw_only=True)
class Discharge(Entry):
    """The episode ends. ``letter`` says whether a letter is owed."""

    KIND: ClassVar[str] = "discharge"

    outcome: str = must(Choice(DISCHARGE_OUTCOMES))
    measures: str = may(Choice(("recorded", "not obtained")), "recorded")
    letter: bool = may(Flag(), True)
    note: str | None = may(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Reopen(Entry):
    """A closed case is opened again; ``new_mechanism`` makes it a new episode."""

    KIND: ClassVar[str] = "reopening"

    new_mechanism: bool = may(Flag(), False)
    reason: str = must(Words())


@dataclass(frozen=True, slots=True, kw_only=True)
class Background(Entry):
    """What the arm is needed for, how sleep is, and the patient's goal in short words of their own."""

    KIND: ClassVar[str] = "background"

    demand: str | None = may(Words(80))
    goal: str | None = may(Words(120))
    sleep: str | None = may(Choice(("undisturbed", "sometimes disturbed", "disturbed every night")))


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferralAnswer(Entry):
    """What came back of a referral."""

    KIND: ClassVar[str] = "referral answer"

    about: str = must(Choice(ANSWERABLE))
    answer: str = must(Words(200, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction(Entry):
    """Withdraws the entry ``corrects``; a replacement, if any, is an entry of its own, ``replaced_by``."""

    KIND: ClassVar[str] = "correction"

    corrects: int = must(Whole(1, 2**62))
    replaced_by: int | None = may(Whole(1, 2**62))
    reason: str = must(Words(200, 3))
