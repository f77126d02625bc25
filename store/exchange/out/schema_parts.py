"""What the schemas of JSON outputs are put together from: plain types, and what several outputs hold."""

from __future__ import annotations

from collections.abc import Mapping

from armrise.store.clinic.case.standing import CriterionResult, Reason, Word
from armrise.store.clinic.standing.conditions import REASONS
from armrise.store.entries.words import ABSENCE_WORDS
from armrise.store.exchange.out.formats import FORMAT, format_of
from armrise.store.exchange.out.schema import (
    Schema,
    document,
    either,
    many,
    mapping,
    of_fields,
    ref,
    told,
    words,
)
from armrise.store.record.kinds.head import SIDES
from armrise.store.rules.do import ACTS
from armrise.store.rules.read import load
from armrise.store.rules.tiers import TIERS

STATES = ("active", "on hold", "closed", "waiting")
TRUSTED = "how far the number may be trusted"


TEXT: Schema = {"type": "string"}
WHOLE: Schema = {"type": "integer"}
NUMBER: Schema = {"type": "number"}
YES: Schema = {"type": "boolean"}
DAY: Schema = {"type": "string", "format": "date"}
LINES = many(TEXT)
PAIN: Schema = {"type": "integer", "minimum": 0, "maximum": 10}


def maybe(schema: Schema, meaning: str = "") -> Schema:
    """Or null: not known, or not there."""
    return told(either(schema, {"type": "null"}), meaning)


SCORE = maybe(either(PAIN, words(ABSENCE_WORDS)))
"""Pain of 0 to 10, an absence in its word, or null."""


def each(schema: Schema, names: str) -> dict[str, Schema]:
    """Several fields that hold the same and whose names say what."""
    return dict.fromkeys(names.split(), schema)


def rows(fields: Mapping[str, Schema], meaning: str = "") -> Schema:
    """A list of objects with these fields."""
    return told(many(mapping(fields)), meaning)


def one(fields: Mapping[str, Schema], meaning: str = "") -> Schema:
    """An object with these fields."""
    return told(mapping(fields), meaning)


TIER = told(words(TIERS), "that of the reason that places the case")
VERDICT_WORD = words(list(Word))
RULES = {"version": TEXT, "signed_off": told(TEXT, "by whom and when, or that it is not")}
CASE_HEAD = {
    **each(TEXT, "code pathway"),
    "person": told(TEXT, "its person's code"),
    "side": words(SIDES),
    "status": words(STATES),
    "stage": told(TEXT, "its code, empty without one"),
    "stage_name": told(TEXT, "the stage in words"),
    "linked": told(LINES, "codes of the same person's other cases"),
    "as_of": told(DAY, "the clinic date"),
}
DAYS = {
    "days_in_stage": maybe(WHOLE, "whole days since the last step; the day of the step is 0"),
    "total_days_in_stage": maybe(WHOLE, "days in this stage over all stays of the episode"),
    "days_in_episode": maybe(WHOLE, "days since the first visit of the episode"),
    "usual_days": maybe(WHOLE, "usual days in the stage"),
    "hold_until": maybe(DAY, "first day after the hold"),
}
REVIEW = {
    "due": maybe(DAY),
    "original_due": maybe(DAY, "before a hold moved it"),
    "interval": maybe(WHOLE, "days"),
    "overdue_days": told(WHOLE, "0 when not overdue"),
    "ratio": told(NUMBER, "days overdue of the interval"),
    "booked": maybe(DAY, "next booked visit"),
    "booked_at": maybe(TEXT, "its time of day, such as 09:20; null where it was not told"),
}
_STEP = one({"say": TEXT, "act": words(ACTS)})
DO = maybe(
    one(
        {
            "words": told(TEXT, "all of it on one line"),
            "steps": told(many(_STEP), "in their order; of a reason in hand what still ends it"),
            "no_answer": maybe(_STEP, "when nobody answers the phone"),
        }
    ),
    "what to do about the reason that places the case; null where nothing is asked",
)


def printed(
    name: str, title: str, fields: Mapping[str, Schema], within: Mapping[str, Schema] | None = None
) -> Schema:
    """The schema of an output: its fields behind its form and version. ``within`` are the parts of it."""
    form = told({"const": format_of(name)}, "the form and its version")
    return document(title, mapping({FORMAT: form, **fields}), within)


def severity_words() -> str:
    """What the severity of each reason counts, by the names and in the order of the shipped rank table."""
    rows = sorted(load().ranks.values(), key=lambda row: row.rank)
    return "larger first. " + ". ".join(f"{row.name}: {REASONS[row.code].counts}" for row in rows)


def parts() -> dict[str, Schema]:
    """Reasons and criteria: the same in every listing."""
    reason = of_fields(Reason, ["code", "do"])
    reason["severity"] = told(WHOLE, severity_words())
    reason["in_hand_until"] = maybe(DAY, "when answered: until when")
    reason["in_hand_action"] = maybe(TEXT, "when answered: what was done")
    criterion = of_fields(CriterionResult, ["effort", "parts", "what", "now"])
    criterion["ask"] = maybe(TEXT, "what to record when unknown")
    criterion["opens_on"] = maybe(DAY, "the date on which a minimum or a gate is passed")
    criterion["status"] = told(TEXT, "how far its number may be trusted")
    criterion["parts"] = told(many(ref("criterion")), "only where it is made of several")
    pace = {"line": TEXT, **each(maybe(NUMBER, "weeks"), "weeks soonest latest")}
    pace |= {"values": told(WHOLE, "how many"), "from": DAY}
    criterion["pace"] = one(pace, "only where four or more dated values project it")
    return {"reason": mapping(reason), "criterion": mapping(criterion, ("parts", "pace"))}
