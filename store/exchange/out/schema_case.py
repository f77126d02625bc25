"""The JSON Schema of everything worked out for one case."""

from __future__ import annotations

from armrise.store.clinic.case.standing import Truth
from armrise.store.clinic.motion.motion import PLANES
from armrise.store.exchange.out.schema import Schema, many, ref, told, words
from armrise.store.exchange.out.schema_parts import (
    CASE_HEAD,
    DAY,
    DAYS,
    DO,
    LINES,
    NUMBER,
    REVIEW,
    RULES,
    SCORE,
    TEXT,
    TRUSTED,
    VERDICT_WORD,
    WHOLE,
    YES,
    each,
    maybe,
    one,
    parts,
    printed,
    rows,
)
from armrise.store.record.kinds.programme import LOAD_CLASSES
from armrise.store.rules.figure import STATUSES

SESSION_CLASSES = ("good", "raised", "over", "flare", "incomplete")
IDS = told(many(WHOLE), "ids of the entries it rests on")
TRUTH = words(list(Truth))
DOSE = {
    **each(maybe(WHOLE), "sets band"),
    "words": TEXT,
    "reps": maybe(WHOLE, "in isometric classes seconds"),
    "hold": maybe(WHOLE, "s"),
    "load": maybe(NUMBER, "kg"),
    **each(maybe(WHOLE, "degrees"), "arc_from arc_to"),
}


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
        "summaries": rows(_summary(), "weeks as told in one line, oldest first"),
        "adherence": one(_adherence(), "done of what is asked"),
        "programme": rows(_programme(), "each exercise in force"),
        "flare": one(_flare()),
        "drift": one(_drift()),
        "scores": one(_scores()),
        "safety": one(_safety()),
        "reasons": many(ref("reason")),
        "do": DO,
        "verdict": one(_verdict()),
        "overrides": rows(_override(), "what was decided against a verdict, oldest first"),
        "cautions": told(
            LINES, "the last names the numbers from memory that a reason or the verdict rests on"
        ),
        "precautions": told(LINES, "what the rule file says to mind in this stage and pathway"),
    }
    return printed("case", "armrise case CODE --json", case, parts())


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


def _summary() -> dict[str, Schema]:
    return {
        **each(DAY, "on since"),
        "entry": told(WHOLE, "its id"),
        "words": told(TEXT, "everything told"),
        "class": words(SESSION_CLASSES),
        "cause": TEXT,
        "missing": LINES,
    }


def _adherence() -> dict[str, Schema]:
    return {
        "percent": maybe(WHOLE, "rounded down; null while neither counted nor told"),
        "on": maybe(DAY),
        "as_told": maybe(YES, "else counted"),
        "words": TEXT,
        "diary_kept": told(YES, "something was told at home, between visits"),
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
