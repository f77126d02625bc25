"""Findings that decide: what an answer, a value or an event asks for, and what a red-flag "no" contradicts.

Rulings 66 and 67. A trigger stands in a pathway file, or in ``rules.toml`` for every pathway; within a file
their order is the order in which they speak.
"""

from __future__ import annotations

from armrise.store.record.kinds.head import ANSWERABLE
from armrise.store.record.kinds.measured import FINDINGS, MEASURES
from armrise.store.record.kinds.safety import EVENTS, FLAG_ITEMS, ONSETS
from armrise.store.record.light import dataclass
from armrise.store.rules.declared import (
    SOURCE,
    STATUS,
    Amount,
    Apart,
    Around,
    Count,
    OneOf,
    Several,
    Text,
    Yes,
    may,
    must,
    read,
)
from armrise.store.rules.figure import Figure
from armrise.store.rules.table import Table

FLAG, FIND = "RED", "FND"
OWN_ONSET = "own onset"
"""The onset of the case's own pathway, or its first visit where the pathway counts from none."""
CLOCK_WORDS = (*(onset for onset in ONSETS if onset != "gradual"), OWN_ONSET)
""""other injury" includes every recorded event."""
SURGEON_TOLD, LOOKED = "surgeon told", "finding"
VISIT_CAUSES = ("a", "b", "c", "d", "e", "f")
"""The causes of "worse at visits" (ruling 64)."""
DAYS = "{days}"
"""Stands in a text for the days since day 0 of the trigger."""
_YES_NO = OneOf(("yes", "no"))
_DAYS = Amount("days")


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One thing that can be seen: a finding with its answer, a measure below a number, or an event."""

    finding: str | None = may(OneOf(FINDINGS))
    answer: str | None = may(_YES_NO)
    after: str | None = may(_YES_NO)
    """The answer that stood before: only a change counts."""
    measure: str | None = may(OneOf(MEASURES))
    below: int | None = may(Count(1, 200))
    """In the unit of the measure."""
    event: tuple[str, ...] = may(Several(EVENTS), default=())
    """Any of these."""
    assessed: bool = may(Yes(), default=False)
    """Once a visit has assessed it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trigger:
    """A finding that asks for an action: a reason for attention, and perhaps a referral as the verdict.

    Days count from the newest onset or injuring event of ``clock`` on or before what was seen.
    """

    key: str = must(Text(60))
    when: tuple[Condition, ...] = may(Apart(), default=())
    """Any of them."""
    clock: tuple[str, ...] = may(Several(CLOCK_WORDS), default=())
    from_day: Figure | None = may(_DAYS)
    """True from this day on, counted at the clinic date."""
    found_from: Figure | None = may(_DAYS)
    """Only what was seen on this day or later counts."""
    to_day: Figure | None = may(_DAYS)
    look_again: bool = may(Yes(), default=False)
    """What was seen before ``found_from`` is asked for again, and unknown until then."""
    stages: tuple[str, ...] = may(Several("stages"), default=())
    """Only in these; in every stage without any."""
    reason: str = must(OneOf((FIND, FLAG)))
    severity: int = must(Count(1, 3))
    as_item: str | None = may(OneOf(FLAG_ITEMS))
    """The item of the red-flag screen it opens."""
    text: str = must(Text(120))
    """Printed; ``{days}`` stands for the days since day 0."""
    about: tuple[str, ...] = may(Several((*ANSWERABLE, SURGEON_TOLD, LOOKED)), default=())
    """Entries that answer it; :data:`LOOKED`: the opposite finding."""
    referral_only: bool = may(Yes(), default=False)
    """Only a referral answers it, no decision."""
    refer: str | None = may(OneOf(ANSWERABLE))
    """What the verdict REFER is about while it is true."""
    source: str = must(SOURCE)
    status: str = must(STATUS)

    @property
    def answered_by(self) -> str:
        """What to record for it to be answered, in words."""
        named = [f'"{matter}"' for matter in self.about if matter not in (SURGEON_TOLD, LOOKED)]
        entry = "a referral" if self.referral_only else "a decision or referral"
        ways = [f"{entry} about {' or '.join(named)}"] if named else []
        ways += ["that the surgeon was told"] if SURGEON_TOLD in self.about else []
        return " or ".join(ways) or "another look"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """What a "no" to an item of the red-flag screen does not go with (ruling 67)."""

    item: str = must(OneOf(FLAG_ITEMS))
    when: tuple[Condition, ...] = may(Apart(), default=())
    """Any of them, or all with ``together``."""
    together: bool = may(Yes(), default=False)
    visit_cause: str | None = may(OneOf(VISIT_CAUSES))
    """Or this cause of "worse at visits"."""
    clock: tuple[str, ...] = may(Several(CLOCK_WORDS), default=())
    """Only after one of these."""
    from_day: Figure | None = may(_DAYS)
    """Only what was seen on this day after it or later counts."""
    source: str = must(SOURCE)
    status: str = must(STATUS)


def triggers(table: Table, around: Around) -> tuple[Trigger, ...]:
    """The triggers of a file in their order, each key once."""
    found: list[Trigger] = []
    for part in table.tables("trigger", "trigger"):
        key = part.words("key", 60)
        part.where = part.where if part.spoiled("key") else f"trigger {key}"
        made = read(part, Trigger, around, key=key, when=_conditions(part))
        _check_trigger(part, made)
        if any(other.key == key for other in found) and not part.spoiled("key"):
            part.fault("key", f"is {key!r} a second time, allowed is each key once in a file")
        found.append(made)
    return tuple(found)


def contradictions(table: Table) -> tuple[Contradiction, ...]:
    """What contradicts the screen, in the order of the file."""
    return tuple(table.gather(table.tables("contradiction", "contradiction"), _contradiction))


def _contradiction(part: Table) -> Contradiction:
    made = read(part, Contradiction, when=_conditions(part))
    if not made.when and made.visit_cause is None and not part.spoiled("when", "visit_cause"):
        part.fault("when", "is missing, needed is at least one condition, or visit_cause")
    if made.together and len(made.when) < 2 and not part.spoiled("when", "together"):
        part.fault("together", "needs two or more conditions")
    _check_clock(part, made)
    return made


def _conditions(part: Table) -> tuple[Condition, ...]:
    return tuple(part.gather(part.tables("when", "condition"), _condition))


def _condition(part: Table) -> Condition:
    made = read(part, Condition)
    stated = [key for key in ("finding", "measure", "event") if getattr(made, key)]
    if len(stated) != 1 and not part.spoiled("finding", "measure", "event"):
        part.fault("", "needs one of finding, measure or event, and only one")
    for key, owner in (("answer", "finding"), ("below", "measure")):
        if (getattr(made, key) is None) == (owner in stated) and not part.spoiled(key, owner):
            part.fault(key, f"goes with {owner}, and only with it")
    for key, owner in (("after", "finding"), ("assessed", "event")):
        if getattr(made, key) and owner not in stated and not part.spoiled(owner):
            part.fault(key, f"goes with {owner}, and only with it")
    if made.after is not None and made.after == made.answer and not part.spoiled("answer", "after"):
        part.fault("after", f"is {made.after} like answer, allowed is the other one: a change is meant")
    return made


def _check_trigger(part: Table, made: Trigger) -> None:
    if not made.when and not part.spoiled("when"):
        part.fault("when", "is missing, needed is at least one condition")
    flag = made.reason == FLAG
    if flag != (made.as_item is not None) and not part.spoiled("reason", "as_item"):
        said = f"is missing, needed is the item that a {FLAG} opens" if flag else f"goes with {FLAG} only"
        part.fault("as_item", said)
    if not flag and not made.about and not part.spoiled("about", "reason"):
        part.fault("about", f"is missing, needed is at least one entry that answers a {FIND}")
    if flag and made.about and not part.spoiled("about", "reason"):
        part.fault("about", f"has no effect beside {FLAG}: only the outcome of the item answers it")
    if made.look_again and made.found_from is None and not part.spoiled("found_from"):
        part.fault("look_again", "needs found_from beside it")
    if DAYS in made.text and not made.clock and not part.spoiled("text", "clock"):
        part.fault("text", f"names {DAYS}, and the trigger states no clock to count them from")
    if ("{" in made.text.replace(DAYS, "")) and not part.spoiled("text"):
        part.fault("text", f"holds a brace, allowed is only {DAYS}")
    if made.from_day and made.to_day and made.to_day.value < made.from_day.value:
        part.fault(
            "to_day", f"is day {made.to_day.value}, allowed is from_day {made.from_day.value} or later"
        )
    _check_clock(part, made)


def _check_clock(part: Table, made: Trigger | Contradiction) -> None:
    for key in ("from_day", "found_from", "to_day"):
        if getattr(made, key, None) is not None and not made.clock and not part.spoiled("clock", key):
            part.fault(key, "needs clock beside it: the day counts from an onset or an injury")
