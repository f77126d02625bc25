"""The JSON Schema of each JSON output. Every field is always there, but for the two that say so."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from armrise.store.clinic.audit.counts import Group
from armrise.store.clinic.audit.period import Audit
from armrise.store.clinic.audit.share import Counted, Share
from armrise.store.clinic.case.standing import CriterionResult, Reason, Truth, Word
from armrise.store.clinic.motion.motion import PLANES
from armrise.store.entries.words import ABSENCE_WORDS
from armrise.store.exchange.out.schema import (
    PLAIN,
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
from armrise.store.exchange.out.schema_caseload import caseload_schema
from armrise.store.record.kinds.head import SIDES
from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.rules.figure import STATUSES
from armrise.store.rules.pathway import TIERS

STATES = ("active", "on hold", "closed", "waiting")
TRUSTED = "how far the number may be trusted"
SESSION_CLASSES = ("good", "raised", "over", "flare", "incomplete")
SEVERITY = (
    "larger first. possible red flag: 3 same day, 2 urgent, 1 soon or query. new injury: 2 dislocation or "
    "sudden loss of active lift, 1 other. healing limit broken: 3 resisted work, lifting, full weight or "
    "tasks, 2 passive or active work or range, 1 sling. flare not settling: points above the usual "
    "morning, or nights woken more. protected case out of sight: days since the last contact. losing "
    "range: 3 below half of the other side or two planes, 2 confirmed in one plane. worse, or not "
    "responding: 2 worse, 1 not responding at the checkpoint. review overdue, by a whole interval or "
    "less: days overdue of the interval, per cent, rounded down. missed visit unanswered: missed visits "
    "in a row. nothing recorded: days without data. over the limit: sessions over it. long in stage: days "
    "in stage of the stall days, per cent. range to watch: degrees lost. Any other: days open, past due or "
    "ready"
)


TEXT: Schema = {"type": "string"}
WHOLE: Schema = {"type": "integer"}
NUMBER: Schema = {"type": "number"}
YES: Schema = {"type": "boolean"}
DAY: Schema = {"type": "string", "format": "date"}
LINES = many(TEXT)
IDS = told(many(WHOLE), "ids of the entries it rests on")
PAIN: Schema = {"type": "integer", "minimum": 0, "maximum": 10}


def maybe(schema: Schema, meaning: str = "") -> Schema:
    """Or null: not known, or not there."""
    return told(either(schema, {"type": "null"}), meaning)


SCORE = maybe(either(PAIN, words(ABSENCE_WORDS)))
"""Pain of 0 to 10, an absence in its word, or null."""
TRUTH = words(list(Truth))


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
}
DOSE = {
    **each(maybe(WHOLE), "sets band"),
    "words": TEXT,
    "reps": maybe(WHOLE, "in isometric classes seconds"),
    "hold": maybe(WHOLE, "s"),
    "load": maybe(NUMBER, "kg"),
    **each(maybe(WHOLE, "degrees"), "arc_from arc_to"),
}


def parts() -> dict[str, Schema]:
    """Reasons and criteria: the same in every listing."""
    reason = of_fields(Reason, ["code"])
    reason["severity"] = told(WHOLE, SEVERITY)
    reason["in_hand_until"] = maybe(DAY, "when answered: until when")
    reason["in_hand_action"] = maybe(TEXT, "when answered: what was done")
    criterion = of_fields(CriterionResult, ["effort", "parts"])
    criterion["ask"] = maybe(TEXT, "what to record when unknown")
    criterion["opens_on"] = maybe(DAY, "the date on which a minimum or a gate is passed")
    criterion["status"] = told(TEXT, "how far its number may be trusted")
    criterion["parts"] = told(many(ref("criterion")), "only where it is made of several")
    pace = {"line": TEXT, **each(maybe(NUMBER, "weeks"), "weeks soonest latest")}
    pace |= {"values": told(WHOLE, "how many"), "from": DAY}
    criterion["pace"] = one(pace, "only where four or more dated values project it")
    return {"reason": mapping(reason), "criterion": mapping(criterion, ("parts", "pace"))}


def list_schema() -> Schema:
    """The list, in its order: active and held cases, and closed ones that still owe something."""
    pain = {
        **each(SCORE, "during later morning"),
        "date": maybe(DAY),
        "baseline": maybe(NUMBER, "the usual morning it is judged against"),
    }
    order = "blocking items, then the exit criteria, minimum days and the next stage's opening"
    case = {
        **CASE_HEAD,
        **DAYS,
        "tier": TIER,
        "onset": one({"what": maybe(words(("surgery", "injury"))), "day": maybe(WHOLE, "days since")}),
        "review": one(REVIEW),
        "pain": one(pain, "the last session, 0 to 10"),
        "reasons": told(many(ref("reason")), "every live one by rank"),
        "verdict": VERDICT_WORD,
        "verdict_line": told(TEXT, "its first line"),
        "criteria": told(many(ref("criterion")), order),
        "limits": told(LINES, "in force today, most important first"),
        "cautions": told(LINES, "of the case and of its verdict"),
        "rule_version": TEXT,
        "signed_off": RULES["signed_off"],
    }
    return document("armrise list --json", many(mapping(case)), parts())


def case_schema() -> Schema:
    """Everything worked out for one case."""
    case = {
        **CASE_HEAD,
        "pathway_name": TEXT,
        "rules": one(RULES),
        "clocks": one(_clocks()),
        "limits": told(LINES, "in force today, in words"),
        "healing": one(_healing()),
        "sessions": rows(_session(), "oldest first"),
        "mornings": rows({"on": DAY, "pain": SCORE, "baseline_that_day": maybe(NUMBER)}),
        "programme": rows(_programme(), "each exercise in force"),
        "flare": one(_flare()),
        "drift": one(_drift()),
        "scores": one(_scores()),
        "safety": one(_safety()),
        "reasons": many(ref("reason")),
        "verdict": one(_verdict()),
        "overrides": rows(_override(), "what was decided against a verdict, oldest first"),
        "cautions": told(
            LINES, "the last names the numbers from memory that a reason or the verdict rests on"
        ),
        "precautions": told(LINES, "what the rule file says to mind in this stage and pathway"),
    }
    return document("armrise case CODE --json", mapping(case), parts())


def _clocks() -> dict[str, Schema]:
    past = "how long own past cases took; null while too few moved on or the stage is protected"
    kept = maybe(TEXT, "as the step keeps it")
    stay = {**each(TEXT, "stage direction"), "from": DAY, "until": maybe(DAY), **each(kept, "verdict rules")}
    return {
        **DAYS,
        **each(maybe(DAY), "stage_entered first_visit last_visit last_data"),
        **each(maybe(WHOLE), "days_since_onset silent_days silence_threshold"),
        "counted_days_in_stage": maybe(WHOLE, "less days on hold, for long in stage"),
        "onset": words(("surgery", "injury", "")),
        "review": one({**REVIEW, "note": TEXT}),
        "holds": rows({"from": DAY, "until": DAY, "reason": TEXT}),
        "stays": rows(stay),
        "own_past_cases": maybe(TEXT, past),
    }


def _healing() -> dict[str, Schema]:
    classes = many(words(LOAD_CLASSES))
    breach = {"on": DAY, "severity": WHOLE, "sentence": TEXT, "entry": WHOLE, "open": YES}
    return {
        "gates": rows({"stage": TEXT, "opens": maybe(DAY), "because": TEXT}),
        "allowed_classes": maybe(classes, "null where no healing limit holds"),
        "ordered_bars": rows({"classes": classes, "until": maybe(DAY)}),
        "breaches": rows(breach),
    }


def _session() -> dict[str, Schema]:
    item = {"exercise": TEXT, "load_class": words(LOAD_CLASSES), "sets_asked": maybe(WHOLE)}
    item |= {name: DOSE[name] for name in ("sets", "reps", "load", "band")}
    return {
        **each(SCORE, "during later"),
        "morning": told(SCORE, "the next one"),
        "on": DAY,
        "entry": told(WHOLE, "its id"),
        "baseline": maybe(NUMBER),
        "rise": maybe(NUMBER, "points over the baseline"),
        "class": maybe(words(SESSION_CLASSES)),
        "cause": TEXT,
        "missing": LINES,
        "dose_percent": maybe(NUMBER, "done of what was asked"),
        "recorded_days_later": WHOLE,
        "items": rows(item),
    }


def _programme() -> dict[str, Schema]:
    proposal = {
        **each(TEXT, "word reason condition missing"),
        "dose": maybe(one(DOSE), "null where none can be named"),
        "instead": maybe(TEXT, "the exercise that takes its place"),
        "not_before": maybe(DAY),
        "evidence": IDS,
    }
    return {
        **each(TEXT, "exercise class_name set_by"),
        **each(maybe(WHOLE), "reps_low reps_high"),
        "load_class": words(LOAD_CLASSES),
        "entry": told(WHOLE, "its id"),
        "set_on": DAY,
        "dose": one(DOSE),
        "way": told(TEXT, "who lifts, seconds and arc, where set"),
        "tempo": maybe(TEXT),
        "per_week": maybe(WHOLE, "sessions"),
        "last_load_increase": maybe(DAY),
        "proposal": one(proposal),
    }


def _flare() -> dict[str, Schema]:
    return {
        "live": YES,
        "causes": LINES,
        **each(maybe(NUMBER), "baseline_now baseline_first_of_stage baseline_first_of_episode"),
        "creep_points": told(NUMBER, "slow rise of the baseline"),
        **each(maybe(NUMBER, "worked out of the last sessions"), "usual_during_now usual_later_now"),
        "creep_points_later": told(NUMBER, "slow rise of what is usual later the same day"),
    }


def _drift() -> dict[str, Schema]:
    value = {
        "on": DAY,
        "value": told(NUMBER, "degrees"),
        **each(maybe(TEXT), "rater limited_by"),
        **each(maybe(NUMBER), "loss_same_rater loss_any_rater"),
        "watch": told(YES, "lost enough to watch"),
        "act": told(YES, "lost enough to act"),
    }
    return {
        "live": maybe(words(("STF", "WAT")), "losing range, or range to watch"),
        "rule": TEXT,
        "severity": maybe(WHOLE),
        "other_side_external_rotation": maybe(NUMBER, "degrees"),
        "other_side_is_reference": YES,
        "planes": one(dict.fromkeys(PLANES, rows(value))),
        "contradictions": LINES,
    }


def _scores() -> dict[str, Schema]:
    change = {
        **each(TEXT, "instrument direction"),
        **each(DAY, "first_on latest_on"),
        **each(NUMBER, "first latest toward_better worse_than_best_by"),
        **each(maybe(NUMBER), "response_threshold detectable_change"),
        **each(maybe(words(STATUSES), TRUSTED), "response_status detectable_status"),
        "responded": TRUTH,
    }
    return {
        "changes": rows(change),
        **each(maybe(DAY), "checkpoint judged_on owed_since"),
        "responded": TRUTH,
    }


def _safety() -> dict[str, Schema]:
    return {
        "note": TEXT,
        "open": rows({"item": TEXT, "on": DAY, "severity": WHOLE}),
        "not_asked": told(LINES, "items of the red-flag screen"),
        "missing_since": maybe(DAY),
        "injuries_not_assessed": rows({"event": TEXT, "on": DAY}),
    }


def _verdict() -> dict[str, Schema]:
    return {
        "word": VERDICT_WORD,
        **each(TEXT, "line not_considered"),
        "rule": told(TEXT, "the name an answer to REFER gives"),
        "also_missing": LINES,
        **each(many(ref("criterion")), "blocks criteria"),
    }


def _override() -> dict[str, Schema]:
    said = {**each(TEXT, "what category reason"), **each(maybe(TEXT), "verdict rules")}
    return {"on": DAY, "entry": told(WHOLE, "its id"), **said}


def why_schema() -> Schema:
    """Why a case stood where it stood at an earlier instant."""
    since = {
        "entry": told(WHOLE, "its id"),
        **each(DAY, "on recorded_on"),
        "withdrawn": YES,
        "says": TEXT,
        "changes": told(LINES, "what it would change alone"),
    }
    why = {
        **each(TEXT, "code rule_version verdict_line"),
        "as_of": DAY,
        "as_known": told(TEXT, "the instant in words"),
        "place": maybe(WHOLE, "in the list, from 1; null when it was not on it"),
        "of": maybe(WHOLE, "how many cases the list had"),
        "tier": TIER,
        "why_there": told(LINES, "why above the next and below the one before"),
        "reasons": many(ref("reason")),
        "verdict": VERDICT_WORD,
        "known_since": rows(since, "recorded or withdrawn later"),
        "had_it_been_known": told(LINES, "what all of it would have changed"),
    }
    return document("armrise why CODE --json", mapping(why), {"reason": parts()["reason"]})


def audit_schema() -> Schema:
    """A period counted: every share with what it is a share of."""
    counted: Schema = {
        "type": "object",
        "additionalProperties": WHOLE,
        "description": "how many of each word",
    }
    known = {**PLAIN, Share: ref("share"), Counted: counted}
    percent = maybe(WHOLE, "rounded half up; null where the denominator is too small for one")
    share = {"count": WHOLE, "of": WHOLE, "percent": percent}
    known[Group] = mapping(of_fields(Group, ["weeks"], known) | {"weeks": rows({"week_end": DAY, **share})})
    return document("armrise audit --json", mapping(of_fields(Audit, known=known)), {"share": mapping(share)})


def keys_schema() -> Schema:
    """Every key of every screen."""
    row = {"place": told(TEXT, "where it can be done"), "id": told(TEXT, "its name in keys.toml")}
    return document("armrise keys --json", rows({**row, "keys": LINES, "does": TEXT}))


def rules_schema() -> Schema:
    """Every statement of the rules with its source and status."""
    row = {
        "place": told(LINES, "the words it is found under, widest first"),
        **each(TEXT, "heading name value"),
        **each(maybe(TEXT), "unit meaning source"),
        "status": maybe(words(STATUSES), TRUSTED),
    }
    shown = {
        **RULES,
        "signed_by": maybe(TEXT),
        "signed_on": maybe(DAY),
        "origin": told(TEXT, "where the rules lie"),
        "counts": one(dict.fromkeys(STATUSES, WHOLE), "statements of each status"),
        "rules": rows(row),
    }
    return document("armrise rules show --json", mapping(shown))


def trial_schema() -> Schema:
    """Changed rules over the recorded history: every case-day that reads differently."""
    said = one({"verdict": VERDICT_WORD, "tier": TIER, "reasons": LINES, "in_hand": LINES})
    day = {"code": TEXT, "on": DAY, **each(told(LINES, "reasons"), "gained lost"), **each(said, "old new")}
    counts = "cases cases_planned case_days case_days_that_differ dates_that_differ cases_that_differ"
    trial = {
        **each(one(RULES), "old new"),
        "from": maybe(DAY, "null: from each registration"),
        "to": DAY,
        "partial": told(YES, "stopped before its end"),
        **each(WHOLE, counts),
        "alarms": one(each(WHOLE, "old new"), "that began"),
        "reasons": rows({"name": TEXT, **each(told(WHOLE, "case-days"), "gained lost")}),
        "verdicts": rows({**each(VERDICT_WORD, "old new"), "days": told(WHOLE, "case-days")}),
        "differences": rows(day),
    }
    return document("armrise rules trial NEW --json", mapping(trial))


SCHEMAS: dict[str, Callable[[], Schema]] = {
    "caseload": caseload_schema,
    "list": list_schema,
    "case": case_schema,
    "why": why_schema,
    "audit": audit_schema,
    "keys": keys_schema,
    "rules": rules_schema,
    "trial": trial_schema,
}
"""Every schema by the name it is asked for."""
