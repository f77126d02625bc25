"""What would follow if a value were so: the record with entries that nobody has made, and what differs.

Nothing in here is written anywhere. The supposed entries are numbered after the newest one and recorded after
it, so that every rule reads them as the latest word; what is not supposed stays as it is on record.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from armrise.store.clinic.case.standing import Reason, Standing, Truth
from armrise.store.clinic.case.view import DAY, View
from armrise.store.clinic.healing.breaches import in_force
from armrise.store.clinic.motion import motion
from armrise.store.clinic.standing.stand import stand
from armrise.store.clinic.verdict.criteria import evaluate
from armrise.store.record.case import FIELD_OF_KIND, CaseRecord, detailed
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import STRENGTHS, Finding, Measure, Score
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.plan import Clearance
from armrise.store.record.kinds.programme import done_whole
from armrise.store.record.light import dataclass
from armrise.store.record.words import count_days, words_date
from armrise.store.rules.criterion import Criterion
from armrise.store.rules.pathway import Rules

EVERY_OTHER_DAY = 2
"""Supposed sessions lie this many days apart where there is room."""


class CannotSuppose(Exception):
    """The supposition contradicts the calendar; the message is one sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supposed:
    """Values that nobody has recorded, of the clinic date ``days_ahead`` days from today.

    ``during``, ``later`` and ``morning`` (0-10) stand in for those of the newest session, ``repeats`` more of
    which are supposed as well, all sets done. Measurements are of the affected side, in the unit of the
    newest value on record.
    """

    days_ahead: int = 0
    during: int | None = None
    later: int | None = None
    morning: int | None = None
    repeats: int = 0
    measures: tuple[tuple[str, Decimal], ...] = ()
    totals: tuple[tuple[str, Decimal], ...] = ()
    """(instrument, total)."""
    findings: tuple[tuple[str, str], ...] = ()
    """(finding, "yes" or "no")."""
    clearances: tuple[tuple[str, str, str], ...] = ()
    """(by, scope, answer)."""

    @property
    def of_sessions(self) -> bool:
        """True when something about sessions is supposed."""
        return bool(self.repeats) or any(v is not None for v in (self.during, self.later, self.morning))


def added(record: CaseRecord, entries: Sequence[Entry]) -> CaseRecord:
    """``record`` and further entries, as if they had been recorded after everything else."""
    changes: dict[str, Any] = {}
    for number, entry in enumerate(entries, _last_id(record) + 1):
        name = FIELD_OF_KIND[entry.KIND]
        changes[name] = (*changes.get(name, getattr(record, name)), replace(entry, id=number))
    ordered = {name: tuple(sorted(found, key=lambda e: (e.on, e.id))) for name, found in changes.items()}
    return detailed(replace(record, **ordered))


def suppose(
    record: CaseRecord, rules: Rules, today: date, supposed: Supposed, *, rater: str | None = None
) -> Standing:
    """The standing that ``supposed`` would give; ``rater`` is who would measure.

    Raises :class:`CannotSuppose` when the calendar has no room for it.
    """
    day = today + timedelta(days=supposed.days_ahead)
    known = _with_sessions(record, rules, day, supposed) if supposed.of_sessions else record
    return stand(added(known, _entries(known, rules, day, supposed, rater)), rules, day)


# --- entries --------------------------------------------------------------------------------------------


def _every(record: CaseRecord) -> Iterator[Entry]:
    for name in FIELD_OF_KIND.values():
        yield from getattr(record, name)


def _last_id(record: CaseRecord) -> int:
    return max((e.id for e in _every(record)), default=0)


def recorded_last(record: CaseRecord, day: date) -> dict[str, Any]:
    """When a supposed entry of ``day`` would be recorded: that day, after everything on record."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=UTC)
    last = max((e.recorded_at for e in _every(record)), default=midnight)
    return {"recorded_at": last + timedelta(seconds=1), "recorded_on": day}


def _entries(
    record: CaseRecord, rules: Rules, day: date, supposed: Supposed, rater: str | None
) -> list[Entry]:
    head: dict[str, Any] = {"on": day, **recorded_last(record, day)}
    return [
        *(
            Measure(name=name, value=value, rater=rater, **_like(record, rules, day, name), **head)
            for name, value in supposed.measures
        ),
        *(Score(instrument=name, total=total, **head) for name, total in supposed.totals),
        *(Finding(name=name, answer=answer, **head) for name, answer in supposed.findings),
        *(Clearance(by=by, scope=scope, answer=a, **head) for by, scope, a in supposed.clearances),
    ]


def _like(record: CaseRecord, rules: Rules, day: date, name: str) -> dict[str, Any]:
    """Unit, method and position of the newest value, so that like is compared with like."""
    found = motion.values(View.of(record, rules, day), name)
    if not found:
        return {"unit": usual_unit(record, rules, day, name)}
    last = found[-1]
    return {"unit": last.unit, "method": last.method, "position": last.position}


def usual_unit(record: CaseRecord, rules: Rules, day: date, name: str) -> str | None:
    """The unit a strength value would be supposed in: that of the newest one, else per cent."""
    if name not in STRENGTHS:
        return None
    found = motion.values(View.of(record, rules, day), name)
    return found[-1].unit if found else "percent of other side"


# --- sessions -------------------------------------------------------------------------------------------


def _with_sessions(record: CaseRecord, rules: Rules, day: date, supposed: Supposed) -> CaseRecord:
    """The record with the newest session as supposed, and with the supposed repeats of it."""
    kept = [s for s in record.sessions if s.on < day and not s.history]
    newest = kept[-1] if kept else _first_session(record, rules, day)
    scores = {name: getattr(supposed, name) for name in ("during", "later", "morning")}
    first = replace(newest, **{name: score for name, score in scores.items() if score is not None})
    others = tuple(s for s in record.sessions if s is not newest)
    known = replace(record, sessions=(*others, first))
    days = session_days(first.on, day, supposed.repeats)
    whole = tuple(replace(i, sets=i.sets_asked) if i.sets_asked else i for i in first.items)
    return added(
        known, [replace(first, on=on, items=whole, **recorded_last(record, on + DAY)) for on in days]
    )


def session_days(newest: date, day: date, count: int) -> list[date]:
    """Days for ``count`` sessions after ``newest`` and before ``day``, the last one on the day before.

    Every other day where there is room, else daily. Raises :class:`CannotSuppose` when there is none.
    """
    room = (day - newest).days - 1
    if count > room:
        said = f"only {count_days(room)}" if room > 0 else "no day"
        raise CannotSuppose(
            f"{count} more sessions: {said} between the newest, {words_date(newest)}, and {words_date(day)};"
            " suppose a later day"
        )
    step = EVERY_OTHER_DAY if EVERY_OTHER_DAY * (count - 1) < room else 1
    return [day - timedelta(days=1 + step * back) for back in reversed(range(count))]


def _first_session(record: CaseRecord, rules: Rules, day: date) -> Session:
    """A session of the day before ``day`` with the programme in force done, where none is on record."""
    number = _last_id(record) + 1
    items = tuple(done_whole(item) for item in in_force(View.of(record, rules, day)))
    return Session(id=number, on=day - DAY, items=items, **recorded_last(record, day))


# --- what to ask for, and what differs ------------------------------------------------------------------

OF_SESSIONS = ("sessions", "during", "no flare")


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing a verdict rests on: a measure, score, finding, clearance, or the sessions."""

    kind: str
    key: str
    scope: str = ""
    state: Truth = Truth.UNKNOWN
    text: str = ""
    """The criterion in words."""


def asked(record: CaseRecord, rules: Rules, today: date) -> tuple[Asked, ...]:
    """What the stage's criteria ask for, the unknown first, then what is not met, each once."""
    view = View.of(record, rules, today)
    stage, pathway = view.stage, view.pathway
    if stage is None or pathway is None or view.closed:
        return ()
    leaves = [leaf for criterion in stage.exit for leaf in _leaves(criterion)]
    judged = [(evaluate(view, leaf).state, leaf) for leaf in leaves]
    found: dict[tuple[str, str, str], Asked] = {}
    for wanted in (Truth.UNKNOWN, Truth.NOT_MET):
        for state, leaf in judged:
            key = _key(leaf, pathway.score)
            if state is wanted and key:
                found.setdefault(key, Asked(*key, state=state, text=leaf.text))
    return tuple(found.values())


def _leaves(criterion: Criterion) -> Iterator[Criterion]:
    if criterion.parts:
        for part in criterion.parts:
            yield from _leaves(part)
    else:
        yield criterion


def _key(criterion: Criterion, region_score: str) -> tuple[str, str, str] | None:
    """(kind, key, scope) of what a criterion rests on; None for what cannot be supposed here.

    The red-flag screen and new events are left out: safety is asked, not supposed.
    """
    if criterion.measure:
        return "measure", criterion.measure, ""
    if criterion.finding:
        return "finding", criterion.finding, ""
    if criterion.by:
        return "clearance", criterion.by, criterion.scope
    if criterion.kind in ("score", "improved"):
        return "score", criterion.instrument or region_score, ""
    if criterion.kind in OF_SESSIONS:
        return "session", "", ""
    return ("measure", "adherence", "") if criterion.kind == "adherence" else None


@dataclass(frozen=True, slots=True)
class Difference:
    """What came and what went between two standings of one case."""

    gained: tuple[Reason, ...]
    lost: tuple[Reason, ...]
    verdict_changed: bool

    @property
    def nothing(self) -> bool:
        """True when neither the verdict nor a reason differs."""
        return not (self.gained or self.lost or self.verdict_changed)


def difference(before: Standing, after: Standing) -> Difference:
    """Reasons gained and lost by name, a reason put in hand counting as the same one."""
    had, has = ({r.code for r in s.reasons} for s in (before, after))
    was, now = before.verdict, after.verdict
    return Difference(
        tuple(r for r in after.reasons if r.code not in had),
        tuple(r for r in before.reasons if r.code not in has),
        (was.word, was.line) != (now.word, now.line),
    )
