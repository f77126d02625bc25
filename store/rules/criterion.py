"""A criterion of the rule files: its kinds, and which fields count for each."""

from __future__ import annotations

from dataclasses import fields
from decimal import Decimal

from armrise.store.record.fields import Choice
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import FINDINGS, INSTRUMENTS, MEASURES
from armrise.store.record.kinds.plan import Clearance
from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.record.light import dataclass
from armrise.store.rules.declared import (
    MOST_DAYS,
    SOURCE,
    STATUS,
    Apart,
    Count,
    OneOf,
    Several,
    Text,
    Yes,
    may,
    must,
)

CRITERION_KINDS: dict[str, tuple[str, ...]] = {
    "measure": ("measure", "at_least", "at_most", "of", "observations", "apart_days", "only_if_allowed"),
    "during": ("at_most",),
    "sessions": ("good", "load_class", "sets", "reps", "above_shoulder", "at_most", "reached_once"),
    "finding": ("finding", "answer", "from_day", "fresh_days", "ask"),
    "clearance": ("by", "scope"),
    "order date": (),
    "score": ("instrument", "at_least", "at_most"),
    "improved": ("acceptable",),
    "no flare": ("days",),
    "no event": ("days",),
    "adherence": ("at_least",),
    "screen": (),
    "plateau": ("measure", "change", "days"),
    "any": ("parts",),
    "all": ("parts",),
}
"""The fields that count for each kind; any other is refused, because it would have no effect."""


def _recorded(kind: type[Entry], name: str) -> tuple[str, ...]:
    """The words a field of an entry may hold, so that no rule waits for an answer nobody can give."""
    rule = next(f.metadata["rule"] for f in fields(kind) if f.name == name)
    assert isinstance(rule, Choice)
    return rule.words


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One exit (or step-back) criterion, as data. Which fields count depends on ``kind``.

    measure    ``measure`` ``at_least``/``at_most`` of ``of`` (None: the number; "other side" or a measure's
               name: per cent of it), on ``observations`` spanning at least ``apart_days``
    during     pain during the newest session, ``at_most``
    sessions   ``good`` qualifying sessions with no flare and few slips between, optionally in ``load_class``
               at ``sets`` x ``reps`` or more with during at most ``at_most``, above the shoulder when
               ``above_shoulder``; ``reached_once`` is satisfied by any date of the present stage
    finding    ``finding`` with ``answer``, dated on ``from_day`` after surgery or injury or later and not
               older than ``fresh_days``; else ``ask`` is what to record
    clearance  ``by`` and ``scope``
    order date the surgeon's orders give a date for the next stage, and it has come
    score      ``instrument`` at_least/at_most
    improved   the region score changed for the better by its response threshold, or (``acceptable``) is in
               the acceptable state
    no flare   none in the last ``days``
    no event   no instability event or other new injury in the last ``days``
    adherence  per cent ``at_least``
    screen     red-flag screen complete and nothing open
    plateau    ``measure`` changed by less than ``change`` over ``days``
    any / all  of ``parts``
    """

    kind: str = must(OneOf(tuple(CRITERION_KINDS)))
    text: str = must(Text(120))
    source: str = must(SOURCE)
    status: str = must(STATUS)
    measure: str | None = must(OneOf(MEASURES), default=None)
    at_least: Decimal | None = may(Apart())
    at_most: Decimal | None = may(Apart())
    of: str | None = may(OneOf(("other side", *MEASURES)))
    observations: int = may(Count(1, 10), default=1)
    apart_days: int = may(Count(0, 366), default=0)
    good: int = must(Count(1, 20), default=0)
    load_class: tuple[str, ...] = may(Several(LOAD_CLASSES), default=())
    sets: int | None = may(Count(1, 20))
    reps: int | None = may(Count(1, 200))
    above_shoulder: bool = may(Yes(), default=False)
    reached_once: bool = may(Yes(), default=False)
    finding: str | None = must(OneOf(FINDINGS), default=None)
    answer: str = may(OneOf(("yes", "no")), default="yes")
    from_day: int | None = may(Count(1, MOST_DAYS))
    fresh_days: int | None = may(Count(1, MOST_DAYS))
    ask: str = may(Text(60), default="")
    """What is asked for where an answer of the past no longer counts."""
    by: str | None = must(OneOf(_recorded(Clearance, "by")), default=None)
    scope: str = may(OneOf(_recorded(Clearance, "scope")), default="movement")
    instrument: str | None = must(OneOf(INSTRUMENTS), default=None)
    days: int | None = must(Count(1, MOST_DAYS), default=None)
    change: int | None = must(Count(1, 180), default=None)
    acceptable: bool = may(Yes(), default=True)
    only_if_allowed: bool = may(Yes(), default=False)
    parts: tuple[Criterion, ...] = may(Apart(), default=())
