"""What is proposed for one item of the programme: the word, the dose, the reason and what it rests on."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date

from armrise.store.clinic.pain.response import Judged
from armrise.store.clinic.programme.facts import ItemFacts
from armrise.store.clinic.programme.parts import Dose
from armrise.store.record.fields import rule_of
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.light import dataclass

STOP, REASSESS, DELOAD, RESTART, REDUCE = "STOP ITEM", "REASSESS", "DELOAD", "RESTART", "REDUCE"
HOLD, WAIT, SETS, REPS, LOAD, CHANGE = "HOLD", "WAIT", "SETS", "REPS", "LOAD", "CHANGE EXERCISE"
ARC, CLIMB, RUNG_BACK = "ARC", "CLIMB", "RUNG BACK"
"""What a proposal may say."""
_LONGEST: int = rule_of(ProgrammeItem, "stopped").longest


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What is proposed for one item. ``dose`` is None where no dose can be named.

    ``not_before`` is the first day for it when that lies ahead, ``condition`` what has to be seen first,
    ``missing`` the score that would let it be judged. ``stops``: accepting it takes the item out; ``instead``
    is then what takes its place. ``again``: accepting it writes the same dose once more, because a smaller
    arc is meant and none is set.
    """

    item: ProgrammeItem
    word: str
    dose: Dose | None
    reason: str
    not_before: date | None = None
    condition: str = ""
    missing: str = ""
    evidence: tuple[int, ...] = ()
    """Ids of the entries it rests on, the item's own last."""
    last_load_increase: date | None = None
    stops: bool = False
    instead: ProgrammeItem | None = None
    again: bool = False

    @property
    def changes(self) -> bool:
        """True when accepting it writes something."""
        return self.stops or self.again or (self.dose is not None and self.dose != Dose.of(self.item))

    @property
    def versions(self) -> tuple[ProgrammeItem, ...]:
        """The items that accepting it writes, as they will state themselves; none where nothing changes."""
        if self.stops:
            out = replace(self.item, stopped=self.reason[:_LONGEST])
            return (out, self.instead) if self.instead else (out,)
        if self.dose is None or not self.changes:
            return ()
        return (replace(self.item, **{f.name: getattr(self.dose, f.name) for f in fields(Dose)}),)

    @property
    def dose_words(self) -> str:
        """The dose with what takes the item's place, or with its new arc; empty where none can be named."""
        if self.dose is None:
            return ""
        if self.instead is not None:
            return f"{self.instead.exercise}, {self.dose.words(self.instead)}"
        arc = f", arc to {self.dose.arc_to} degrees" if self.dose.arc_to != self.item.arc_to else ""
        return f"{self.dose.words(self.item)}{arc}{', smaller arc' if self.again else ''}"

    @property
    def line(self) -> str:
        """ "DELOAD to 3 x 8 at 1.5 kg", "HOLD 3 x 8 at 2 kg", "CLIMB to wall walk, 2 x 10", "REASSESS"."""
        if self.dose is None:
            return self.word
        to = " to" if self.changes else ""
        return f"{self.word}{to} {self.dose_words}"


def propose(facts: ItemFacts, word: str, dose: Dose | None, reason: str, *judged: Judged) -> Proposal:
    """A proposal about the item of ``facts`` that rests on the sessions named."""
    ids = (*(j.session.id for j in judged), facts.item.id)
    return Proposal(
        item=facts.item,
        word=word,
        dose=dose,
        reason=reason,
        evidence=tuple(dict.fromkeys(ids)),
        last_load_increase=facts.last_load_increase,
    )


def hold(facts: ItemFacts, reason: str, *judged: Judged) -> Proposal:
    """The same dose, and why."""
    return propose(facts, HOLD, facts.current, reason, *judged)
