"""A small builder of case records for the tests of the clinical computation.

    standing = standing_of(case("RC2", day=40).session(-1, 3, 2, 2, R1=(3, 10)).mornings(-9, 2, 2, 2))

Days are whole numbers counted from the clinic date :data:`TODAY` (0 is that date, -2 two days before), or
dates. ``case(stage, day=n)`` is a case placed in ``stage`` n days ago, seen then and again yesterday,
screened, scored, with surgeon's orders where the pathway wants them: on its own it carries no live reason,
so that whatever a test adds is the only thing that can speak.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import cache
from typing import Any, Self

from armrise.store.clinic.case.standing import Reason, Standing
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Appointment, Attendance, Contact, Visit
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import Finding, Measure, Score, Target
from armrise.store.record.kinds.pain import Medicine, Morning, PeriodSummary, Session
from armrise.store.record.kinds.paperwork import Decision, Discharge, Letter, Referral, Reopen
from armrise.store.record.kinds.plan import Clearance, Hold, InHand, Orders, Override, Step
from armrise.store.record.kinds.programme import LOAD_CLASSES, DoneItem, ProgrammeItem
from armrise.store.record.kinds.safety import Event, FlagOutcome, Onset, Screen
from armrise.store.rules.pathway import Rules

TODAY = date(2026, 3, 2)

Day = int | date
Pain = int | Absence | None

WORDS = {
    "RED": "possible red flag",
    "INJ": "new injury",
    "LIM": "healing limit broken",
    "MSU": "urgent message",
    "FUN": "losing lift or strength",
    "FND": "finding to act on",
    "FLA": "flare not settling",
    "LOST": "protected case out of sight",
    "STF": "losing range",
    "VIS": "worse at visits",
    "WRS": "worse, or not responding",
    "SCR": "safety answers missing",
    "MSG": "message not answered",
    "OVD2": "review overdue by a whole interval",
    "DNA": "missed visit unanswered",
    "OVD1": "review overdue",
    "SIL": "nothing recorded",
    "RDY": "ready to step forward",
    "ASK": "red-flag question due",
    "LOW": "seldom done",
    "OVR": "over the limit",
    "NRM": "range not measured",
    "STL": "long in stage",
    "PRM": "outcome score due",
    "LTR": "letter owed",
    "WAT": "range to watch",
}
"""The clinic's words for the reasons (practice notes, clarification 11.8), by inside code."""

ONSET_OF = {"PO": "surgery", "AD": "dislocation", "FX": "fracture"}
OPENS = {
    **{"PO1": 0, "PO2": 14, "PO3": 42, "PO4": 84, "PO5": 140},
    **{"AD1": 0, "AD2": 7, "AD3": 42, "AD4": 84, "AD5": 112},
    **{"FX1": 0, "FX2": 14, "FX3": 42, "FX4": 84},
}
"""Earliest day since surgery or injury (practice notes 3.3, 3.4, 3.6; ranges by ruling 27)."""

USUAL_CLASS = {
    **{"RC1": "A1", "RC2": "R1", "RC3": "R2", "RC4": "R2"},
    **{"FS1": "A1", "FS2": "A1", "FS3": "A1"},
    **{"PO1": "P0", "PO2": "P1", "PO3": "A1", "PO4": "R1", "PO5": "R1"},
    **{"AD1": "P0", "AD2": "I2", "AD3": "R1", "AD4": "R1", "AD5": "R1"},
    **{"OA1": "A1", "OA2": "R1", "OA3": "R1"},
    **{"FX1": "P1", "FX2": "A1", "FX3": "A2", "FX4": "R1"},
}
"""A load class that is allowed in the stage, for sessions whose content does not matter."""

FULL_DAYS = 84
"""A full screen of longer ago is made again at the last visit (ruling 71)."""

ACCEPTABLE = {"SPADI": (60, 15), "QuickDASH": (60, 15), "OSS": (20, 44), "OSIS": (20, 44), "WOOS": (30, 80)}
"""First and present total of a case that has responded (practice notes 4.9)."""


@cache
def rules() -> Rules:
    """The project's own rule files, loaded once."""
    from armrise.store.rules.read import load

    return load()


def on(day: Day, today: date = TODAY) -> date:
    """The date of ``day``."""
    return today + timedelta(days=day) if isinstance(day, int) else day


def item(load_class: str, sets: int | None = 3, reps: int | None = 10, **more: Any) -> DoneItem:
    """One exercise done; what was asked is 3 x 10 unless said (``sets_asked``, ``reps_asked``)."""
    fields: dict[str, Any] = {"exercise": f"exercise {load_class}", "sets_asked": 3, "reps_asked": 10, **more}
    if sets is not None and "sets_asked" not in more:
        fields["sets_asked"] = sets
    return DoneItem(load_class=load_class, sets=sets, reps=reps, **fields)


def number(value: Any) -> Any:
    """``value`` as the record holds it: Decimal, or an absence as it is."""
    return value if value is None or isinstance(value, Absence) else Decimal(str(value))


def _as_told(line: str) -> dict[str, Any]:
    """The fields of a period summary that a typed line states."""
    days, during, later, mornings, dose, settled = [*line.split(), *"......"][:6]
    done, _, asked = days.partition("/")
    names = ("days_done", "days_asked", "worst_during", "worst_later", "mornings_worse")
    told = dict(zip(names, (done, asked, during, later, mornings), strict=True))
    found: dict[str, Any] = {name: int(word) for name, word in told.items() if word not in ("", ".")}
    words = {"w": "whole", "p": "part", "m": "more", "s": "yes", "n": "no"}
    return found | {"dose": words.get(dose), "settled": words.get(settled)}


class Builder:
    """Collects entries; :meth:`record` turns them into a :class:`CaseRecord`. Every method returns self."""

    def __init__(self, head: dict[str, Any], stage: str, today: date) -> None:
        self.head = head
        self.stage = stage
        self.today = today
        self.entries: list[Entry] = []

    # -- the general way in ------------------------------------------------------------------------------

    def add(self, kind: type[Entry], day: Day, *, recorded: Day | None = None, **fields: Any) -> Self:
        """One entry of ``kind`` that happened on ``day``; ``recorded`` (default the same day) is when it was
        written down. Ids follow the order of adding; within a day so do the recorded instants."""
        number_of = len(self.entries) + 1
        happened = on(day, self.today)
        written = happened if recorded is None else on(recorded, self.today)
        instant = datetime(written.year, written.month, written.day, 9, tzinfo=UTC)
        known = {
            "recorded_at": instant + timedelta(seconds=number_of),
            "recorded_on": written,
            "author": "TK",
        }
        self.entries.append(kind(**{"id": number_of, "on": happened, **known, **fields}))
        return self

    def record(self) -> CaseRecord:
        """The record, entries of each kind in order of (happened date, id)."""
        kinds: dict[str, list[Entry]] = {}
        for entry in self.entries:
            kinds.setdefault(FIELD_OF_KIND[entry.KIND], []).append(entry)
        ordered = {kind: tuple(sorted(found, key=lambda e: (e.on, e.id))) for kind, found in kinds.items()}
        return CaseRecord(**{**self.head, **ordered})

    # -- what a person reports ---------------------------------------------------------------------------

    def session(
        self,
        day: Day,
        during: Pain = None,
        later: Pain = None,
        morning: Pain = None,
        *items: DoneItem,
        recorded: Day | None = None,
        bare: bool = False,
        **more: Any,
    ) -> Self:
        """A session. Items by class (``R1=(3, 10)``) or as :func:`item`; one usual item, all done, when none
        is given and not ``bare``. None is "not asked". A numeric morning is recorded the day after."""
        done = list(items)
        for load_class in [word for word in more if word in LOAD_CLASSES]:
            done.append(item(load_class, *more.pop(load_class)))
        if not done and not bare:
            done.append(item(USUAL_CLASS.get(self.stage, "A1")))
        if recorded is None and isinstance(morning, int):
            recorded = on(day, self.today) + timedelta(days=1)
        triple = {"during": during, "later": later, "morning": morning}
        known = {k: Absence.NOT_ASKED if v is None else v for k, v in triple.items()}
        return self.add(Session, day, recorded=recorded, items=tuple(done), **known, **more)

    def good(self, count: int, *, last: int = -1, every: int = 2, morning: int = 2, **more: Any) -> Self:
        """``count`` good sessions of 3 during and 2 later, the newest on ``last``, ``every`` days apart.

        The mornings before them are not made here: see :meth:`mornings`."""
        for number_back in reversed(range(count)):
            self.session(last - number_back * every, 3, 2, morning, **more)
        return self

    def morning(self, day: Day, pain: Pain, **more: Any) -> Self:
        """Pain on waking on ``day``."""
        value = Absence.NOT_ASKED if pain is None else pain
        return self.add(Morning, day, pain=value, source="patient reported", **more)

    def mornings(self, first: int, *pains: int) -> Self:
        """Pain on waking on ``first`` and the days after it."""
        for offset, pain in enumerate(pains):
            self.morning(first + offset, pain)
        return self

    def summary(self, day: Day, since: Day, line: str = "", **more: Any) -> Self:
        """The period from ``since`` to ``day`` as told. ``line`` is the one that ruling 73 types:
        ``"9/14 4 3 2 w s"`` is 9 of 14 days, worst during 4, worst later 3, 2 mornings worse, whole dose,
        settled; "." for any part not told."""
        return self.add(PeriodSummary, day, since=on(since, self.today), **(_as_told(line) | more))

    def contact(self, day: Day, outcome: str = "spoke", **more: Any) -> Self:
        """A call or message."""
        return self.add(Contact, day, outcome=outcome, **more)

    def event(self, day: Day, event: str = "fall", **more: Any) -> Self:
        """A new injury or instability event."""
        return self.add(Event, day, event=event, **more)

    # -- what is measured and asked ----------------------------------------------------------------------

    def measure(self, day: Day, name: str, value: Any, *, other: bool = False, **more: Any) -> Self:
        """One value of the affected side (``other``: of the other side), rater TK, goniometer, lying."""
        side = self.other_side if other else None
        usual = {"rater": "TK", "method": "goniometer", "position": "lying", "side": side}
        return self.add(Measure, day, name=name, value=number(value), **{**usual, **more})

    def both(self, day: Day, name: str, value: Any, other: Any, **more: Any) -> Self:
        """A value of the affected side and one of the other side."""
        return self.measure(day, name, value, **more).measure(day, name, other, other=True, **more)

    def percent(self, day: Day, name: str, value: Any, **more: Any) -> Self:
        """Strength as per cent of the other side."""
        return self.measure(day, name, value, unit="percent of other side", **more)

    def score(self, day: Day, instrument: str, total: Any, **more: Any) -> Self:
        """The total of a questionnaire; None is an incomplete form."""
        return self.add(Score, day, instrument=instrument, total=number(total), **more)

    def screen(self, day: Day, name: str, answer: str, **more: Any) -> Self:
        """One answer of the red-flag screen."""
        return self.add(Screen, day, item=name, answer=answer, **more)

    def screen_all_no(self, day: Day, **more: Any) -> Self:
        """The whole red-flag screen asked, every answer no."""
        return self.screen(day, "all", "no", **more)

    def flag_outcome(self, day: Day, name: str = "all", outcome: str = "cleared", **more: Any) -> Self:
        """The recorded outcome of a possible red flag."""
        fields = {"reason": "examined, nothing found", **more}
        return self.add(FlagOutcome, day, item=name, outcome=outcome, **fields)

    def finding(self, day: Day, name: str, answer: str = "yes", **more: Any) -> Self:
        """A dated observation."""
        return self.add(Finding, day, name=name, answer=answer, **more)

    # -- visits and bookings -----------------------------------------------------------------------------

    def visit(self, day: Day, interval: int | None = None, **more: Any) -> Self:
        """A person was seen."""
        return self.add(Visit, day, interval=interval, **more)

    def booked(self, booked_for: Day, *, made: Day | None = None, **more: Any) -> Self:
        """A slot booked for ``booked_for``, on ``made`` (default a week before, never after today)."""
        target = on(booked_for, self.today)
        day = min(target - timedelta(days=7), self.today) if made is None else made
        return self.add(Appointment, day, booked_for=target, **more)

    def attendance(self, booked_for: Day, outcome: str = "did not attend", **more: Any) -> Self:
        """What became of a slot, recorded on its own date."""
        target = on(booked_for, self.today)
        return self.add(Attendance, target, booked_for=target, outcome=outcome, **more)

    def missed(self, booked_for: Day, outcome: str = "did not attend") -> Self:
        """A booked slot that was missed."""
        return self.booked(booked_for).attendance(booked_for, outcome)

    # -- decisions ---------------------------------------------------------------------------------------

    def step(self, day: Day, stage: str, direction: str | None = None, **more: Any) -> Self:
        """A step to ``stage``; forward or back by the stage's number unless ``direction`` is said."""
        way = direction or ("forward" if stage[2:] > self.stage[2:] else "back")
        self.stage = stage
        self.head["pathway"] = stage[:2]
        return self.add(Step, day, stage=stage, direction=way, **more)

    def programme(self, day: Day, load_class: str, sets: int = 3, reps: int = 10, **more: Any) -> Self:
        """One version of one exercise of the programme."""
        fields: dict[str, Any] = {"exercise": f"exercise {load_class}", **more}
        return self.add(ProgrammeItem, day, load_class=load_class, sets=sets, reps=reps, **fields)

    def override(self, day: Day, against: str, reason: str = "agreed with the patient", **more: Any) -> Self:
        """A decision against the rule that is no step."""
        fields = {"category": "clinical judgement", **more}
        return self.add(Override, day, against=against, reason=reason, **fields)

    def hold(self, day: Day, until: Day, reason: str = "holiday", **more: Any) -> Self:
        """An agreed pause."""
        return self.add(Hold, day, until=on(until, self.today), reason=reason, **more)

    def in_hand(
        self, day: Day, reason: str, until: Day, action: str = "spoke, ring again", **more: Any
    ) -> Self:
        """A reason answered until a date; ``reason`` is the inside code or the words."""
        fields = {"reason": WORDS.get(reason, reason), "action": action, **more}
        return self.add(InHand, day, until=on(until, self.today), **fields)

    def referral(self, day: Day, about: str, to: str = "surgeon", urgency: str = "soon", **more: Any) -> Self:
        """The case was referred on."""
        return self.add(Referral, day, about=about, to=to, urgency=urgency, **more)

    def decision(self, day: Day, about: str, note: str = "carry on, plan reviewed", **more: Any) -> Self:
        """A recorded decision about a named matter."""
        return self.add(Decision, day, about=about, note=note, **more)

    def letter(self, day: Day, about: str = "discharge", state: str = "sent", **more: Any) -> Self:
        """A letter was sent."""
        return self.add(Letter, day, about=about, state=state, **more)

    def discharge(self, day: Day, outcome: str = "goal met", **more: Any) -> Self:
        """The episode ends."""
        return self.add(Discharge, day, outcome=outcome, **more)

    def reopen(self, day: Day, *, new_mechanism: bool = False, **more: Any) -> Self:
        """A closed case is opened again."""
        fields = {"reason": "same trouble again", **more}
        return self.add(Reopen, day, new_mechanism=new_mechanism, **fields)

    def target(self, day: Day, measure: str, value: Any, reason: str = "other side also stiff") -> Self:
        """A target typed by the clinician."""
        return self.add(Target, day, measure=measure, value=number(value), reason=reason)

    # -- surgery, injury, medicine -----------------------------------------------------------------------

    def onset(self, day: Day, what: str, **more: Any) -> Self:
        """The surgery or injury healing is counted from."""
        return self.add(Onset, day, what=what, **more)

    def orders(self, day: Day, **more: Any) -> Self:
        """The surgeon's written orders; fields ending in ``_until`` or ``_from`` may be days."""
        dated = {k: on(v, self.today) if k.endswith(("_until", "_from")) else v for k, v in more.items()}
        return self.add(Orders, day, source="surgeon", **{"operation": "cuff repair", **dated})

    def clearance(self, day: Day, by: str, answer: str = "yes", scope: str = "movement", **more: Any) -> Self:
        """Recorded permission to pass a limit."""
        return self.add(Clearance, day, by=by, answer=answer, scope=scope, **more)

    def medicine(self, day: Day, what: str, change: str = "new", **more: Any) -> Self:
        """An injection or an analgesic."""
        return self.add(Medicine, day, what=what, change=change, **more)

    @property
    def other_side(self) -> str:
        """The side the case compares with."""
        return "LEFT" if self.head["side"] == "RIGHT" else "RIGHT"


def case(
    stage: str,
    day: int = 10,
    *,
    onset: int | None = None,
    first: int | None = None,
    last_visit: int | None = 1,
    interval: int | None = None,
    screened: bool = True,
    scored: bool = True,
    ordered: bool = True,
    today: date = TODAY,
    **head: Any,
) -> Builder:
    """A case placed in ``stage`` ``day`` days ago.

    onset       days since surgery or injury (default: the stage opened on its earliest day); PO, AD, FX only;
                -1 leaves the date out
    first       days since the first visit (default ``day``); if longer ago, the case was placed in the stage
                before ``stage`` then and stepped forward ``day`` days ago
    last_visit  days since the last visit (default yesterday; None: none after the first), ``interval`` its
                review interval (default the stage's own)
    screened    red-flag screen complete at the first visit, nothing new at the last, and screened again then
                where the first lies more than 84 days back
    scored      a first and a present region score that show response, so that no score is owed
    ordered     surgeon's orders without limits or dates (PO)
    head        code, person, side, age_band, dominance, clinician, referrer of the case
    """
    path = stage[:2]
    seen = day if first is None else first
    usual = {"code": "C-01", "person": "P-01", "side": "RIGHT", "age_band": "50s", "dominance": "right"}
    fixed = {"pathway": path, "registered_on": on(-seen, today), "clinician": "TK", "referrer": "GP"}
    made = Builder({**usual, **fixed, **head}, stage, today)
    _healing(made, path, OPENS.get(stage, 0) + day if onset is None else onset, ordered=ordered)
    made.visit(-seen, interval if last_visit is None or last_visit >= seen else None)
    if screened:
        made.screen_all_no(-seen)
    if seen > day and stage[2:] != "1":
        made.stage = f"{path}{int(stage[2:]) - 1}"
        made.add(Step, -seen, stage=made.stage, direction="placing")
        made.step(-day, stage)
    else:
        made.add(Step, -day, stage=stage, direction="placing")
    if last_visit is not None and last_visit < seen:
        made.visit(-last_visit, interval, anything_new="no" if screened else "not asked")
        if screened and seen > FULL_DAYS:
            made.screen_all_no(-last_visit)
    if scored:
        _scored(made, path, seen, last_visit)
    return made


def _healing(made: Builder, path: str, days: int, *, ordered: bool) -> None:
    """Onset and orders of a time-gated pathway."""
    if path in ONSET_OF and days >= 0:
        made.onset(-days, ONSET_OF[path])
        if path == "PO" and ordered:
            made.orders(-days, surgeon="consultant A")


def _scored(made: Builder, path: str, seen: int, last_visit: int | None) -> None:
    """A first and a present total of the pathway's region score."""
    instrument = rules().pathways[path].score
    before, now = ACCEPTABLE[instrument]
    made.score(-seen, instrument, before)
    if seen > 1 and last_visit is not None:
        made.score(-min(last_visit, 28, seen - 1), instrument, now)


def waiting(*, today: date = TODAY, registered: int = 20, pathway: str = "RC", **head: Any) -> Builder:
    """A referral whose first visit has not happened: no visit, no step, no entry."""
    usual = {"code": "C-01", "person": "P-01", "side": "RIGHT", "age_band": "50s", "clinician": "TK"}
    fixed = {"pathway": pathway, "registered_on": on(-registered, today), "referrer": "GP"}
    return Builder({**usual, **fixed, **head}, f"{pathway}1", today)


def standing_of(made: Builder | CaseRecord, today: date = TODAY, using: Rules | None = None) -> Standing:
    """The standing the project computes for the case."""
    from armrise.store.clinic.standing.stand import stand

    known = made.record() if isinstance(made, Builder) else made
    return stand(known, rules() if using is None else using, today)


def codes(standing: Standing) -> list[str]:
    """Inside codes of the live reasons, in order of rank."""
    return [reason.code for reason in standing.reasons]


def reason(standing: Standing, code: str) -> Reason:
    """The live reason with this inside code; a failed assertion when it is not live."""
    found = {each.code: each for each in standing.reasons}
    assert code in found, f"{code} is not live; live: {codes(standing)}"
    return found[code]


def live(standing: Standing) -> list[tuple[str, int, int]]:
    """(code, severity, days open) of the live reasons, as the practice notes print them."""
    return [(each.code, each.severity, each.days_open) for each in standing.reasons]
