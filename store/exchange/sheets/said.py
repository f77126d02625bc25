"""What a row says beside measured values: visits, the next review, slots, stages, onsets, days of a diary."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any

from armrise.store.exchange.sheets import meanings as m
from armrise.store.exchange.sheets.row import Given, Part, Row, Said, checked
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Appointment, Visit
from armrise.store.record.kinds.head import REPORTED
from armrise.store.record.kinds.pain import Morning, Session
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.safety import Onset

Values = Mapping[str, Said]
LONGEST_INTERVAL = 366


def entries_said(row: Row, values: Values, given: Given) -> Iterator[tuple[date, Part]]:
    """The entries, each with its day."""
    yield from _visit(row, values, given)
    yield from _slot(row, values, given)
    yield from _stage(row, values, given)
    yield from _onsets(row, values, given)
    yield from _diary(row, values, given)


def _made(
    row: Row, kind: str, on: date, raw: Mapping[str, Any], told: Said, given: Given
) -> Iterator[tuple[date, Part]]:
    entry = checked(row, kind, dict(raw), told, given)
    if entry is not None:
        yield on, Part(entry, told[1])


def _visit(row: Row, values: Values, given: Given) -> Iterator[tuple[date, Part]]:
    interval = values["interval"][0] if "interval" in values else None
    if "visit" not in values:
        for name in ("review", "interval"):
            if name in values:
                row.refuse(values[name][1], values[name][2], "counts from a visit, and the row has none")
        return
    on = values["visit"][0]
    if "review" in values:
        review, label, text = values["review"]
        days = (review - on).days
        if not 1 <= days <= LONGEST_INTERVAL:
            where = (
                "not after the visit" if days < 1 else f"more than {LONGEST_INTERVAL} days after the visit"
            )
            row.refuse(label, text, f"lies {where}")
            return
        interval = days
    yield from _made(
        row, Visit.KIND, on, {"interval": int(interval) if interval else None}, values["visit"], given
    )


def _slot(row: Row, values: Values, given: Given) -> Iterator[tuple[date, Part]]:
    if "booked_for" not in values:
        if "at" in values:
            row.refuse(values["at"][1], values["at"][2], "is a time without the day of the slot")
        return
    day, label, text = values["booked_for"]
    if day < given.today:
        row.refuse(label, text, "is past: what became of a slot is recorded in the case")
        return
    raw = {"booked_for": day, "at": values["at"][0] if "at" in values else None}
    yield from _made(row, Appointment.KIND, given.today, raw, values["booked_for"], given)


def _stage(row: Row, values: Values, given: Given) -> Iterator[tuple[date, Part]]:
    if "stage" not in values:
        if "stage_since" in values:
            row.refuse(values["stage_since"][1], values["stage_since"][2], "is a day without a stage")
        return
    stage, label, text = values["stage"]
    if "stage_since" not in values:
        row.refuse(label, text, "has no day since when: days in stage count from it")
        return
    on = values["stage_since"][0]
    code = stage if isinstance(stage, str) else next(iter(given.rules.pathways.values())).stages[0].code
    raw = {"stage": code, "direction": "placing"}
    for day, part in _made(row, Step.KIND, on, raw, values["stage"], given):
        yield day, part._replace(stage=stage, column=label)


def _onsets(row: Row, values: Values, given: Given) -> Iterator[tuple[date, Part]]:
    for what in m.ONSETS:
        if what in values:
            operation = values["operation"][0] if what == "surgery" and "operation" in values else None
            raw = {"what": what, "operation": operation}
            yield from _made(row, Onset.KIND, values[what][0], raw, values[what], given)
    if "operation" in values and "surgery" not in values:
        row.refuse(values["operation"][1], values["operation"][2], "is an operation without its day")
    if "clock" in values:
        for day, part in _made(
            row, Onset.KIND, values["clock"][0], {"what": "gradual"}, values["clock"], given
        ):
            yield day, part._replace(clock=True)


_OF_A_DAY = ("during", "later", "morning", "times", "dose", "ordinal")
_OF_A_SESSION = ("during", "later", "times", "dose", "ordinal")


def _diary(row: Row, values: Values, given: Given) -> Iterator[tuple[date, Part]]:
    """A day of a diary: a session where anything of one is told, else the mornings alone."""
    told = {name: values[name] for name in (*_OF_A_DAY, "waking") if name in values}
    if not told:
        return
    if "date" not in values:
        _, label, text = next(iter(told.values()))
        row.refuse(label, text, "is of a day, and the row has no date")
        return
    on = values["date"][0]
    common: dict[str, Any] = {"source": REPORTED, "written": True}
    if "waking" in told:
        yield from _made(
            row, Morning.KIND, on, common | {"pain": _plain(told["waking"][0])}, told["waking"], given
        )
    rests = _rests(told)
    if rests and any(not isinstance(told[name][0], Absence) for name in ("during", "later") if name in told):
        row.refuse(told[rests][1], told[rests][2], "says that nothing was done, beside pain of a session")
        return
    if not rests and any(name in told for name in _OF_A_SESSION):
        yield from _session(row, on, told, common, given)
    elif "morning" in told:
        after = on + timedelta(days=1)
        if after > given.today:
            row.refuse(told["morning"][1], told["morning"][2], "is of a morning that has not come yet")
            return
        raw = common | {"pain": _plain(told["morning"][0])}
        yield from _made(row, Morning.KIND, after, raw, told["morning"], given)


def _rests(told: Values) -> str:
    """The name of what says that it was a day of rest; empty where nothing does."""
    if "times" in told and told["times"][0] == 0:
        return "times"
    return "dose" if "dose" in told and told["dose"][0] == "none" else ""


def _session(
    row: Row, on: date, told: Values, common: Mapping[str, Any], given: Given
) -> Iterator[tuple[date, Part]]:
    if "morning" in told and not isinstance(told["morning"][0], Absence) and on >= given.today:
        row.refuse(told["morning"][1], told["morning"][2], "is of a morning that has not come yet")
        return
    raw = dict(common)
    raw |= {name: _plain(told[name][0]) for name in ("during", "later", "morning") if name in told}
    raw |= {name: int(told[name][0]) for name in ("times", "ordinal") if name in told}
    if "dose" in told:
        raw["dose"] = told["dose"][0]
    first = next(told[name] for name in _OF_A_DAY if name in told)
    yield from _made(row, Session.KIND, on, raw, first, given)


def _plain(value: Any) -> Any:
    return value if isinstance(value, Absence) else int(value)
