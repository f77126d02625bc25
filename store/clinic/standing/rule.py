"""What a reason for attention declares: its condition, what its severity counts, what ends it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple, Protocol

from armrise.store.clinic.case.turns import Turns, Until
from armrise.store.clinic.case.view import DAY, View
from armrise.store.record.light import dataclass

LOOK_BACK = timedelta(days=28)
"""A window of sessions is whole for every date at least this long after its first."""


class Found(NamedTuple):
    """A condition that is true: severity, words, since when (if the rule says), and the entries behind it.

    ``sentence`` tells the worst or the first thing found, ``evidence`` holds every entry that makes it true:
    an answer in hand covers only those known when it was given.
    """

    severity: int
    sentence: str
    since: date | None = None
    evidence: tuple[int, ...] = ()


class Answer(NamedTuple):
    """A reason answered: the action, when it was given and until when it holds."""

    on: date
    until: date
    action: str
    instant: datetime
    entry_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonRule:
    """What the rules know of one reason beyond its row of the rank table."""

    condition: Callable[[View], Found | None]
    is_true: Callable[[View], bool] | None = None
    """Whether it is, asked for neither words nor evidence, where that costs less; None: ask the condition."""
    counts: str
    """What its severity counts, in words, as the schemas of the JSON outputs say it."""
    hold_hides: bool = False
    of_closed: bool = False
    """A closed case can carry it too."""
    of_waiting: bool = False
    """So can one that waits for its first visit."""
    grows: bool = False
    """A larger severity is new evidence for an answer in hand; the others grow by the calendar alone."""
    reads_sessions: bool = False
    turns: Turns | None = None
    """The days on which it can begin, end, grow or come to rest on other entries; None: any day.

    Since when it is true is looked for from turn to turn, without them day by day: what reads sessions or the
    whole verdict can turn on nearly every day, by what was told of it and by whatever grows old on it.
    """
    turned: Turns | None = None
    """The days on which its truth alone turned, looked at from the days that follow, where they are fewer."""
    stands: Until | None = None
    """Until when it stays as it was found: of days to come alone, by what the record holds of them.

    Tighter than the turns: an entry that can only end it matters only where it is true.
    """
    absent: tuple[tuple[Callable[[View], Any], Any], ...] = ()
    """Readings that several rules share, each with what it says while this reason is not true.

    Where several reasons name one, while none of them is.
    """
    ended_on: Callable[[View], date | None] = lambda view: None
    """The newest decision that ends it though it is true still; it has to come on its first day or later."""
    answers: Callable[[View], list[Answer]] = lambda view: []
    """What puts it in hand besides an entry that says so."""
    answered_by: tuple[str, ...] = ()
    """The fields of the record that those are of."""
    of_word: bool = False
    """It turns with the word of the verdict too, whatever day that is."""
    by_days: Callable[[View, str, int], str] | None = None
    """Its sentence with the days it has been open, which are its severity then."""
    figures: tuple[str, ...] = ()
    """The groups of figures it reads."""
    stage_figures: tuple[str, ...] = ()
    """The figures of the stage it reads, as fields of the stage."""

    def true_on(self, view: View) -> bool:
        """Whether it is true on the view's date."""
        return self.is_true(view) if self.is_true else self.condition(view) is not None

    def until(self, view: View) -> date:
        """The first day after the view's date on which it may be found otherwise."""
        return view.today + DAY if self.of_word else self.until_by_itself(view)

    def until_by_itself(self, view: View) -> date:
        """The same, as long as the word of the verdict is the same."""
        if self.stands is not None:
            return self.stands(view)
        return self.turns.following(view) if self.turns else view.today + DAY


class State(Protocol):
    """What a reading says where it is a reason."""

    @property
    def severity(self) -> int:
        """As :class:`Found` has it."""
        ...

    @property
    def sentence(self) -> str:
        """The same."""
        ...

    @property
    def evidence(self) -> tuple[int, ...]:
        """The same."""
        ...


class Dated(State, Protocol):
    """The same, where the reading knows since when."""

    @property
    def since(self) -> date | None:
        """The same; None where it has to be looked for."""
        ...


def as_dated(state: Dated | None) -> Found | None:
    """A reading as a condition found, true since it says."""
    return Found(state.severity, state.sentence, state.since, state.evidence) if state else None


def as_found(state: State | None) -> Found | None:
    """A reading as a condition found: since when it is true is looked for."""
    return Found(state.severity, state.sentence, None, state.evidence) if state else None
