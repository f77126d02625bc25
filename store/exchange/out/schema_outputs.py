"""The JSON Schema of each JSON output. Every field is always there, but for the two that say so."""

from __future__ import annotations

from armrise.store.clinic.audit.counts import Group
from armrise.store.clinic.audit.period import Audit
from armrise.store.clinic.audit.share import Counted, Share
from armrise.store.exchange.out.schema import (
    PLAIN,
    Schema,
    many,
    mapping,
    of_fields,
    ref,
    told,
    words,
)
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
    TIER,
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
from armrise.store.record.kinds.care import SWEEP_DECISIONS
from armrise.store.rules.figure import STATUSES


def list_schema(command: str = "list") -> Schema:
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
        "do": DO,
        "verdict": VERDICT_WORD,
        "verdict_line": told(TEXT, "its first line"),
        "criteria": told(many(ref("criterion")), order),
        "limits": told(LINES, "in force today, most important first"),
        "cautions": told(LINES, "of the case and of its verdict"),
        "rule_version": TEXT,
        "signed_off": RULES["signed_off"],
    }
    listed = told(many(mapping(case)), "in their order")
    return printed(command, f"armrise {command} --json", {"cases": listed}, parts())


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
    return printed("why", "armrise why CODE --json", why, {"reason": parts()["reason"]})


def _swept() -> Schema:
    case = {
        **each(TEXT, "code stage"),
        "side": CASE_HEAD["side"],
        "days_in_stage": DAYS["days_in_stage"],
        "overdue_days": REVIEW["overdue_days"],
        "reasons": told(many(ref("reason")), "those that bring it here, by rank"),
        "do": DO,
        **each(TEXT, "last_contact attempts booked"),
        "guards": told(LINES, "what has to be thought of before a decision"),
    }
    return many(mapping(case))


def due_schema() -> Schema:
    """The queue of the weekly sweep, in its order."""
    return printed("due", "armrise due --json", {"cases": _swept()}, {"reason": parts()["reason"]})


def minutes_schema() -> Schema:
    """The minutes of a week's sweep."""
    decided = {
        **each(TEXT, "code remains"),
        "side": CASE_HEAD["side"],
        "decision": words(SWEEP_DECISIONS),
        "on": DAY,
        "by": maybe(TEXT, "initials"),
        "words": told(TEXT, "the entry in words"),
    }
    made = {
        **each(DAY, "first last as_of"),
        "closed": told(WHOLE, "cases decided that are not in the queue again"),
        "total": told(WHOLE, "these, and those that remain"),
        "counts": one(dict.fromkeys(SWEEP_DECISIONS, WHOLE), "how many of each decision"),
        "decided": rows(decided),
        "remaining": _swept(),
        "store_head": maybe(TEXT, "the head of the store's chain"),
    }
    return printed("minutes", "armrise minutes --json", made, {"reason": parts()["reason"]})


def views_schema() -> Schema:
    """The views of the list."""
    view = {"key": told(TEXT, "the digit that shows it"), "name": TEXT}
    text = maybe(TEXT, "what a view of the clinic's own is searched by")
    return printed("views", "armrise views --json", {"views": rows({**view, "text": text})})


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
    audit = of_fields(Audit, known=known)
    return printed("audit", "armrise audit --json", audit, {"share": mapping(share)})


def keys_schema() -> Schema:
    """Every key of every screen."""
    row = {"place": told(TEXT, "where it can be done"), "id": told(TEXT, "its name in keys.toml")}
    return printed("keys", "armrise keys --json", {"keys": rows({**row, "keys": LINES, "does": TEXT})})


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
    return printed("rules", "armrise rules show --json", shown)


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
    return printed("trial", "armrise rules trial NEW --json", trial)


def verify_schema() -> Schema:
    """A store verified."""
    link = {"action": WHOLE, "at": told(TEXT, "an instant with its offset"), **each(TEXT, "head hash")}
    first = {"number": WHOLE, "at": TEXT, **each(LINES, "codes kinds")}
    verified = {
        **each(TEXT, "store verified"),
        "sound": told(YES, "nothing wrong was found"),
        **each(WHOLE, "cases entries actions"),
        "begun_over_what_was_there": told(YES, "what is older was in the store before it had a chain"),
        **each(maybe(one(link)), "begun head occurs"),
        "expected": maybe(TEXT, "the head that was asked for"),
        "first_that_does_not_follow": maybe(one(first), "the action, the cases and kinds it covers now"),
        **each(LINES, "wrong right not_checked"),
    }
    return printed("verify", "armrise verify --json", verified)
