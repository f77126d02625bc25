"""What a column can mean: each meaning by its name, which is what a map file and the screen say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache

from armrise.store.record.kinds.measured import INSTRUMENTS, MEASURES, STRENGTHS
from armrise.store.record.light import NamedTuple

LEAVE_OUT = "leave out"
PERSONAL = "names somebody: never taken"


class Meaning(NamedTuple):
    """One meaning. ``kind`` is what it becomes a part of, ``field`` which part, ``reads`` how it is read."""

    name: str
    kind: str
    field: str
    reads: str = ""
    unit: str | None = None
    side: str = ""
    """Of a measure: empty the affected side, "other", or a side itself."""
    formula: str | None = None


HEAD, PLAN, MEASURE, SCORE, DIARY, DAY, OUT = "head", "plan", "measure", "score", "diary", "day", "out"

CODE = "case code"
PERSON = "person code"
SIDE = "side"
PATHWAY = "pathway"
REGISTERED = "registered on"
DATE = "date"
VISIT = "visit on"
NEXT_REVIEW = "next review on"
INTERVAL = "days to the next review"
APPOINTMENT = "next appointment on"
APPOINTMENT_AT = "time of the appointment"
STAGE = "stage"
STAGE_SINCE = "in stage since"
OPERATION = "operation"
HEALING = "day healing counts from"
RATER = "measured by"

_FIXED = (
    Meaning(CODE, HEAD, "code", "code"),
    Meaning(PERSON, HEAD, "person", "code"),
    Meaning(SIDE, HEAD, "side", "side"),
    Meaning(PATHWAY, HEAD, "pathway", "pathway"),
    Meaning(REGISTERED, HEAD, "registered_on", "date"),
    Meaning("clinician", HEAD, "clinician", "phrase 24"),
    Meaning("referrer", HEAD, "referrer", "phrase 60"),
    Meaning("age or age band", HEAD, "age_band", "age"),
    Meaning("preferred hand", HEAD, "dominance", "hand"),
    Meaning(DATE, DAY, "date", "date"),
    Meaning(VISIT, DAY, "visit", "date"),
    Meaning(RATER, DAY, "rater", "phrase 12"),
    Meaning(NEXT_REVIEW, PLAN, "review", "date ahead"),
    Meaning(INTERVAL, PLAN, "interval", "days"),
    Meaning(APPOINTMENT, PLAN, "booked_for", "date ahead"),
    Meaning(APPOINTMENT_AT, PLAN, "at", "clock"),
    Meaning(STAGE, PLAN, "stage", "stage"),
    Meaning(STAGE_SINCE, PLAN, "stage_since", "date"),
    Meaning("date of surgery", PLAN, "surgery", "date"),
    Meaning("date of dislocation", PLAN, "dislocation", "date"),
    Meaning("date of fracture", PLAN, "fracture", "date"),
    Meaning("date of another injury", PLAN, "other injury", "date"),
    Meaning("date of a gradual onset", PLAN, "gradual", "date"),
    Meaning(HEALING, PLAN, "clock", "date"),
    Meaning(OPERATION, PLAN, "operation", "phrase 80"),
    Meaning("pain during exercise", DIARY, "during", "pain"),
    Meaning("pain later that day", DIARY, "later", "pain"),
    Meaning("pain on the next morning", DIARY, "morning", "pain"),
    Meaning("pain on waking that day", DIARY, "waking", "pain"),
    Meaning("times that day", DIARY, "times", "times"),
    Meaning("dose done", DIARY, "dose", "dose"),
    Meaning("session of the day", DIARY, "ordinal", "ordinal"),
)
ONSETS = ("surgery", "dislocation", "fracture", "other injury", "gradual")
"""Fields of the plan that are a kind of onset."""

SIDES: Mapping[str, str] = {"": "", "other": ", other side", "LEFT": ", LEFT", "RIGHT": ", RIGHT"}
_UNITS = (
    ("kg", "in kg"),
    ("percent of other side", "in per cent of the other side"),
    ("grade 0-5", "in grades 0 to 5"),
)
ONE_SIDED = ("worst_pain", "rest_pain", "night_pain", "night_waking", "adherence", "worry_about_movement")
"""Measures of the person and no side."""


def words_of(measure: str) -> str:
    """A measure as a meaning names it."""
    return measure.replace("_", " ")


def _measures() -> Iterator[Meaning]:
    for name in MEASURES:
        units = _UNITS if name in STRENGTHS else ((None, ""),)
        for side, behind in SIDES.items():
            if side and name in ONE_SIDED:
                continue
            for unit, told in units:
                if side and unit == "percent of other side":
                    continue
                reads = "level" if name == "hand_behind_back" else "number"
                words = f"{words_of(name)}{f' {told}' if told else ''}{behind}"
                yield Meaning(words, MEASURE, name, reads, unit, side)


def _scores() -> Iterator[Meaning]:
    for name in INSTRUMENTS:
        yield Meaning(name, SCORE, name, "number")
        if name in ("OSS", "OSIS"):
            yield Meaning(f"{name}, old form 12 to 60", SCORE, name, "number", formula="old 12-60")


@cache
def meanings() -> dict[str, Meaning]:
    """Every meaning by its name, in the order in which they are offered; the last leaves a column out."""
    every = (*_FIXED, *_measures(), *_scores(), Meaning(LEAVE_OUT, OUT, ""))
    return {meaning.name: meaning for meaning in every}


def named(words: str) -> Meaning | None:
    """The meaning of that name, in any case; None where there is none."""
    found = " ".join(words.split()).casefold()
    return next((one for name, one in meanings().items() if name.casefold() == found), None)
