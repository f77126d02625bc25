"""What to do about a reason for attention, as data: one row after another, the first that fits the case.

Practice notes 1.1 (the action of each question) and 2.2 (what clears a reason). What an action is called on
the screen, and by which key it is taken, is not known here: :data:`ACTS` are its names.
"""

from __future__ import annotations

from collections.abc import Mapping

from armrise.store.record.light import dataclass
from armrise.store.rules.declared import (
    SOURCE,
    STATUS,
    Apart,
    Around,
    Count,
    OneOf,
    Text,
    Yes,
    may,
    must,
    read,
)
from armrise.store.rules.table import Table

ACTS = (
    "phone",
    "book",
    "check in",
    "review",
    "measures",
    "doses",
    "orders",
    "step forward",
    "step back",
    "refer",
    "flag outcome",
    "decide",
    "letter",
    "in hand",
)
"""What can be done about a case, by names that no screen owns."""
SAID_OF = ("REFER", "STEP BACK ADVISED")
"""Verdicts that change what to do."""
MOST_STEPS = 3
LOADS = "{loads}"
"""Stands in a text for the exercises a lower dose is proposed for, or for "the load" where there is none."""
_TEXT = Text(60)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do: in words, and the action it is."""

    say: str = must(_TEXT)
    act: str = must(OneOf(ACTS))

    @property
    def words(self) -> str:
        """ "book a review (book)"."""
        return f"{self.say} ({self.act})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Do:
    """What to do about one reason, where every condition stated is true of the case."""

    reason: str = must(OneOf("reasons"))
    from_severity: int | None = may(Count(1, 1000))
    """Only from this severity of the reason on."""
    verdict: str | None = may(OneOf(SAID_OF))
    after_surgery: bool = may(Yes(), default=False)
    """Only where the pathway counts from surgery."""
    without_orders: bool = may(Yes(), default=False)
    """Only while the surgeon's orders are missing."""
    booked: bool = may(Yes(), default=False)
    """Only where a visit is booked."""
    steps: tuple[Step, ...] = may(Apart(), default=())
    """In their order."""
    no_answer: Step | None = may(Apart())
    """What to do when nobody answers the phone."""
    at_visit: Step | None = may(Apart())
    """What to do instead at a visit booked for today; None: it cannot wait for one."""
    source: str = must(SOURCE)
    status: str = must(STATUS)

    @property
    def always(self) -> bool:
        """Whether it fits every case with the reason."""
        conditions = (self.verdict, self.after_surgery, self.without_orders, self.booked)
        return self.from_severity is None and not any(conditions)

    @property
    def words(self) -> str:
        """All of it on one line, as the rules are shown."""
        said = [step.words for step in self.steps]
        for lead, step in (("no answer", self.no_answer), ("at a visit today", self.at_visit)):
            said += [f"{lead}: {step.words}"] if step else []
        return "; ".join(said)


def what_to_do(table: Table, reasons: tuple[str, ...]) -> Mapping[str, tuple[Do, ...]]:
    """By inside code of the reason: its rows in the order of the file, the last of them for every case."""
    around = Around({"reasons": reasons})
    found: dict[str, tuple[Do, ...]] = {}
    parts = table.tables("do", "do")
    for part in parts:
        code = part.choice("reason", reasons)
        part.where = part.where if part.spoiled("reason") else f"{part.where}, {code}"
        made = read(
            part,
            Do,
            around,
            steps=_steps(part),
            no_answer=_step(part, "no_answer"),
            at_visit=_step(part, "at_visit"),
        )
        if any(row.always for row in found.get(code, ())) and not part.spoiled("reason"):
            part.fault("reason", f"is {code!r} after a row for every case: it would never be read")
        found[code] = (*found.get(code, ()), made)
    _check_whole(table, reasons, found, bool(parts) and any(part.faulty for part in parts))
    return found


def _steps(part: Table) -> tuple[Step, ...]:
    inner = part.tables("steps", "step")
    found = tuple(part.gather(inner, _read))
    if not 1 <= len(inner) <= MOST_STEPS and not part.spoiled("steps"):
        part.fault("steps", f"holds {len(inner)}, needed are one to {MOST_STEPS}")
    return found


def _step(part: Table, key: str) -> Step | None:
    return _read(part.table(key)) if part.has(key) else None


def _read(part: Table) -> Step:
    made = read(part, Step)
    if "{" in made.say.replace(LOADS, "") and not part.spoiled("say"):
        part.fault("say", f"holds a brace, allowed is only {LOADS}")
    return made


def _check_whole(
    table: Table, reasons: tuple[str, ...], found: Mapping[str, tuple[Do, ...]], faulty: bool
) -> None:
    """Every reason says what to do, whatever the case."""
    if faulty or table.spoiled("do"):
        return
    for code in reasons:
        if not any(row.always for row in found.get(code, ())):
            table.fault("do", f"lacks {code}, needed is a [[do]] without a condition for each reason")
