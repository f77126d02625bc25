"""Paperwork and decisions: referrals and answers, letters, discharge, reopening, corrections."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from armrise.store.record.fields import Choice, Flag, Whole, Words, may, must
from armrise.store.record.kinds.head import AGE_BANDS, ANSWERABLE, HANDS, Entry, Names
from armrise.store.record.light import dataclass
from armrise.store.record.words import joined, listed, placed

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
class PatientDetails(Entry):
    """What was said of the patient at registration, put right; what is left out stays as it was."""

    KIND: ClassVar[str] = "patient details"
    MEANING: ClassVar[str] = "age band, preferred hand or referrer, added or put right"
    GROUPS: ClassVar[tuple[str, ...]] = ("paperwork",)

    age_band: str | None = may(Choice(AGE_BANDS))
    dominance: str | None = may(Choice(HANDS))
    referrer: str | None = may(Words(60))

    def sentence(self, names: Names | None, day: str) -> str:
        """What is now known."""
        said = listed(
            f"age {self.age_band}" if self.age_band else "",
            f"preferred hand {self.dominance}" if self.dominance else "",
            f"referred by {self.referrer}" if self.referrer else "",
        )
        return f"patient details{placed('on', day)}: {said or 'nothing told'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Referral(Entry):
    """The case was referred on, on the date ``on``."""

    KIND: ClassVar[str] = "referral"
    MEANING: ClassVar[str] = "the case was referred on"
    GROUPS: ClassVar[tuple[str, ...]] = ("paperwork",)

    to: str = must(Words(60))
    urgency: str = must(Choice(("same day", "urgent", "soon", "routine")))
    about: str = must(Choice(ANSWERABLE))
    surgeon_told: bool = may(Flag(), False)
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """To whom, how soon and about what."""
        told = "surgeon told" if self.surgeon_told else ""
        said = listed(f"referred{placed('on', day)} to {self.to}", self.urgency, f"about {self.about}", told)
        return joined(said, self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision(Entry):
    """A recorded decision about a named matter: carry on, plan reviewed, review not needed."""

    KIND: ClassVar[str] = "decision"
    MEANING: ClassVar[str] = "carry on, plan reviewed, review not needed"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    about: str = must(Choice(ANSWERABLE))
    note: str = must(Words(200, 3))

    def sentence(self, names: Names | None, day: str) -> str:
        """The matter and what was decided."""
        return f"decision{placed('of', day)} about {self.about}: {self.note}"


LINE_END = "\u00b6"
"""What stands between the lines of a letter's text, which is one line like every text of the record."""
LETTER_LONGEST = 3000
"""Characters of a letter's text: eight lines, and room for what a clinician adds by hand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter(Entry):
    """A letter was sent (or drafted) on the date ``on``. ``body`` None: its text is not kept here."""

    KIND: ClassVar[str] = "letter"
    MEANING: ClassVar[str] = "a letter sent or drafted"
    GROUPS: ClassVar[tuple[str, ...]] = ("paperwork",)

    about: str = must(Choice(("discharge", "referral", "progress", "missed visits")))
    state: str = may(Choice(("sent", "draft")), "sent")
    body: str | None = may(Words(LETTER_LONGEST))

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines of its text; none where the text is not kept."""
        return lines_of(self.body or "")

    def sentence(self, names: Names | None, day: str) -> str:
        """What it is about, whether it has gone, and how much of its text is kept; the text stands apart."""
        state = "drafted" if self.state == "draft" else self.state
        number = len(self.lines)
        kept = f"text of {number} line{'s' if number > 1 else ''}" if number else ""
        return listed(f"letter about {self.about}: {state}{placed('on', day)}", kept)


def lines_of(text: str) -> tuple[str, ...]:
    """The lines of a letter's text without the empty ones."""
    return tuple(line for part in text.split(LINE_END) if (line := part.strip()))


def text_of(lines: Iterable[str]) -> str | None:
    """The text that holds these lines, None where they say nothing; what ends a line is in none of them."""
    kept = (" ".join(line.replace(LINE_END, " ").split()) for line in lines)
    return f" {LINE_END} ".join(filter(None, kept)) or None


@dataclass(frozen=True, slots=True, kw_only=True)
class Discharge(Entry):
    """The episode ends. ``letter`` says whether a letter is owed."""

    KIND: ClassVar[str] = "discharge"
    MEANING: ClassVar[str] = "the episode ends"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    outcome: str = must(Choice(DISCHARGE_OUTCOMES))
    measures: str = may(Choice(("recorded", "not obtained")), "recorded")
    letter: bool = may(Flag(), True)
    note: str | None = may(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """How the episode ended, and what is still owed."""
        owed = "letter owed" if self.letter else "no letter owed"
        said = f"discharged{placed('on', day)}: {self.outcome}"
        return joined(said, f"final measures {self.measures}, {owed}", self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reopen(Entry):
    """A closed case is opened again; ``new_mechanism`` makes it a new episode."""

    KIND: ClassVar[str] = "reopening"
    MEANING: ClassVar[str] = "a closed case is opened again"
    GROUPS: ClassVar[tuple[str, ...]] = ("decisions",)

    new_mechanism: bool = may(Flag(), False)
    reason: str = must(Words())

    def sentence(self, names: Names | None, day: str) -> str:
        """As which episode it goes on, and why."""
        episode = " as a new episode" if self.new_mechanism else ", same episode"
        return f"reopened{placed('on', day)}{episode}: {self.reason}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Background(Entry):
    """What the arm is needed for, how sleep is, and the patient's goal in short words of their own."""

    KIND: ClassVar[str] = "background"
    MEANING: ClassVar[str] = "what the arm is needed for, sleep, goal"
    GROUPS: ClassVar[tuple[str, ...]] = ("paperwork",)

    demand: str | None = may(Words(80))
    goal: str | None = may(Words(120))
    sleep: str | None = may(Choice(("undisturbed", "sometimes disturbed", "disturbed every night")))

    def sentence(self, names: Names | None, day: str) -> str:
        """What the arm is needed for, sleep and goal."""
        parts = joined(
            f"needed for {self.demand}" if self.demand else "",
            f"sleep {self.sleep}" if self.sleep else "",
            f"goal: {self.goal}" if self.goal else "",
        )
        return f"background{placed('of', day)}: {parts or 'nothing stated'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferralAnswer(Entry):
    """What came back of a referral."""

    KIND: ClassVar[str] = "referral answer"
    MEANING: ClassVar[str] = "what came back of a referral"
    GROUPS: ClassVar[tuple[str, ...]] = ("paperwork",)

    about: str = must(Choice(ANSWERABLE))
    answer: str = must(Words(200, 3))

    def sentence(self, names: Names | None, day: str) -> str:
        """What was asked about, and the answer."""
        return f"answer{placed('of', day)} to the referral about {self.about}: {self.answer}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction(Entry):
    """Withdraws the entry ``corrects``; a replacement, if any, is an entry of its own, ``replaced_by``."""

    KIND: ClassVar[str] = "correction"

    corrects: int = must(Whole(1, 2**62))
    replaced_by: int | None = may(Whole(1, 2**62))
    reason: str = must(Words(200, 3))

    def sentence(self, names: Names | None, day: str) -> str:
        """Why something was withdrawn; the entry itself is named beside it."""
        return f"correction{placed('of', day)}: {self.reason}"
