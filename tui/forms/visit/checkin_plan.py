"""What a check-in writes, worked out from the record and what was typed; no screen in here."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from armrise.store.clinic.case.view import History, View
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.healing.healing import sling_until
from armrise.store.clinic.pain.response import Response
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.head import NOTHING_NEW, REPORTED
from armrise.store.record.kinds.measured import Measure
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem
from armrise.store.record.light import dataclass
from armrise.store.record.words import value_words
from armrise.store.rules.pathway import Rules, Stage
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.words.entries import day, weekday

Pain = int | Absence


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the fields. Absent values are ``Absence.NOT_ASKED``."""

    during: Pain = Absence.NOT_ASKED
    later: Pain = Absence.NOT_ASKED
    morning: Pain = Absence.NOT_ASKED
    waking: Pain = Absence.NOT_ASKED
    usual: Pain = Absence.NOT_ASKED
    """Usual pain on waking, asked with the first check-in."""
    items: tuple[DoneItem, ...] = ()
    also: DoneItem | None = None
    """An exercise that is not on the programme."""
    sling_off: bool = False
    nothing_new: bool = False
    flags: tuple[Draft, ...] = ()


@dataclass(frozen=True, slots=True)
class Known:
    """What is already on record about the day ``on`` and the morning after it."""

    on: date
    today: date
    sessions: tuple[Session, ...] = ()
    morning: Pain | None = None
    """The score of the morning after, when one is on record."""

    @property
    def next_morning(self) -> date:
        """The morning that belongs to the day."""
        return self.on + timedelta(days=1)

    @property
    def morning_open(self) -> bool:
        """True when that morning has come and has no score yet."""
        return self.next_morning <= self.today and not isinstance(self.morning, int)

    @property
    def only_morning(self) -> bool:
        """True when the session is on record and only the morning after it is missing."""
        return bool(self.sessions) and self.morning_open

    @property
    def full(self) -> bool:
        """True when no further session of that day can be recorded."""
        return len(self.sessions) > 1 and not self.morning_open


def known(record: CaseRecord, on: date, today: date) -> Known:
    """What the record holds about the day ``on``."""
    sessions = tuple(s for s in record.sessions if s.on == on)
    after = on + timedelta(days=1)
    scores = [s.morning for s in sessions] + [m.pain for m in record.mornings if m.on == after]
    numbers = [s for s in scores if isinstance(s, int)]
    return Known(on, today, sessions, numbers[-1] if numbers else None)


def named_day(on: date, today: date) -> str:
    """The day a check-in belongs to: "this morning, after Sunday's exercises"."""
    ahead = (today - on).days
    if ahead == 0:
        return f"today's exercises ({day(on, year=False)}); their next morning is tomorrow"
    morning = on + timedelta(days=1)
    which = "this morning" if ahead == 1 else f"the morning of {day(morning, year=False)}"
    return f"{which}, after {weekday(on)}'s exercises ({day(on, year=False)})"


def programme_on(record: CaseRecord, rules: Rules, on: date) -> list[ProgrammeItem]:
    """The home programme in force on a date, stopped exercises left out."""
    return in_force(View.of(record, rules, on))


def sling_on(record: CaseRecord, rules: Rules, on: date) -> bool:
    """True on a date on which the sling is to be worn."""
    until = sling_until(View.of(record, rules, on), on)
    return until is not None and on < until[0]


def stage_on(record: CaseRecord, rules: Rules, on: date) -> Stage | None:
    """The stage a case was in on a date; limits of a session are those of its own date (ruling 31)."""
    return History(record, rules).stage_on(on)


def pain_beside(about: Known, view: View, baseline: int | None) -> dict[str, str]:
    """What stands beside each score: its limit in the stage of that day, and why a morning is not asked."""
    stage = stage_on(view.record, view.rules, about.on)
    limits = stage.limits if stage else None
    said = {name: f"limit {getattr(limits, name).whole}" if limits else "" for name in ("during", "later")}
    said["morning"] = _morning_limit(limits.rise.whole if limits else None, baseline)
    if about.next_morning > about.today:
        said["morning"] = "to be asked tomorrow"
    elif not about.morning_open:
        said["morning"] = "on record"
    return said


def _morning_limit(rise: int | None, usual: int | None) -> str:
    """ "limit 3 (usual 2 + 1)": the number to compare with comes first."""
    if usual is None:
        return f"limit: usual + {rise}, usual not known" if rise is not None else "usual not known"
    return f"limit {usual + rise} (usual {usual} + {rise})" if rise is not None else f"usual {usual}"


def one_nought(during: Pain, later: Pain) -> str:
    """That 1 followed by 0 may have been meant as ten; empty for anything else."""
    return "Taken as during 1, later 0; for ten press x." if (during, later) == (1, 0) else ""


def asks_usual(record: CaseRecord, rules: Rules, today: date) -> bool:
    """Whether the usual morning is asked: no session of the episode told, no baseline known (ruling 94)."""
    view = View.of(record, rules, today)
    return not view.since("sessions", view.episode_start) and Response.of(view).baseline(today) is None


def make(typed: Typed, about: Known, rules: Rules) -> Plan:
    """The entries a check-in writes: a session, or a morning alone, night waking, and what is new."""
    plan = Plan()
    if about.full and _session_typed(typed):
        plan.refused = f"Two sessions of {day(about.on)} are on record; correct one of them instead."
        return plan
    for kind, values in (*_pain(typed, about), *_waking(typed, about)):
        plan.drafts.append((kind, {"source": REPORTED, **values}))
    plan.drafts += typed.flags
    if any(kind == Morning.KIND for kind, _ in plan.drafts):
        plan.then.append(f"(for {weekday(about.on)}'s session)" if about.sessions else "(no session)")
    plan.then += _sets_words(plan.drafts, typed)
    if plan.drafts and _check_day(typed, rules):
        plan.then.append(f"(later 0 and next morning {value_words(typed.morning)}: check the day)")
    if isinstance(typed.usual, int) and Session.KIND not in (kind for kind, _ in plan.drafts):
        plan.faults["usual"] = "usual morning pain: is kept with a session; give pain during or later too."
    if typed.nothing_new and not plan.drafts:
        plan.nothing = 'Only "nothing new" is answered; it is kept with a session, so nothing is written.'
    return plan


def _session_typed(typed: Typed) -> bool:
    scores = (typed.during, typed.later)
    told = any(s is not Absence.NOT_ASKED for s in scores) or any(i.sets is not None for i in typed.items)
    return told or typed.also is not None or typed.sling_off


def _pain(typed: Typed, about: Known) -> list[Draft]:
    """The session, or only its morning when the session is there, or a morning after a rest day."""
    morning = typed.morning if about.morning_open else Absence.NOT_ASKED
    if about.only_morning or not _session_typed(typed):
        if morning is Absence.NOT_ASKED:
            return []
        return [(Morning.KIND, {"on": about.next_morning, "pain": morning})]
    items = typed.items if any(i.sets is not None for i in typed.items) else ()
    items = (*items, typed.also) if typed.also else items
    values: dict[str, object] = {
        "on": about.on,
        "ordinal": len(about.sessions) + 1,
        "during": typed.during,
        "later": typed.later,
        "morning": morning,
        "items": items,
        "sling_off": typed.sling_off,
    }
    if isinstance(typed.usual, int):
        values["usual_morning"] = typed.usual
    if typed.nothing_new:
        values["note"] = NOTHING_NEW
    return [(Session.KIND, values)]


def _sets_words(drafts: Sequence[Draft], typed: Typed) -> list[str]:
    """That no sets were told; that something was done beside the programme."""
    items = [values["items"] for kind, values in drafts if kind == Session.KIND]
    told = ["(sets not recorded)"] if items == [()] else []
    return [*told, f"({typed.also.exercise}: not on the programme)"] if items and typed.also else told


def _waking(typed: Typed, about: Known) -> list[Draft]:
    if typed.waking is Absence.NOT_ASKED:
        return []
    on = min(about.next_morning, about.today)
    value = Decimal(typed.waking) if isinstance(typed.waking, int) else typed.waking
    return [(Measure.KIND, {"on": on, "name": "night_waking", "value": value})]


def _check_day(typed: Typed, rules: Rules) -> bool:
    """Later 0 and a painful next morning contradict each other (practice note 4.12): flagged, allowed."""
    figure = rules.figures.get("contradiction.morning_after_zero")
    if figure is None or isinstance(typed.morning, Absence):
        return False
    return typed.later == 0 and typed.morning >= figure.whole
