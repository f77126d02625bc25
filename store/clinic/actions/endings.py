"""What a discharge needs and why it is refused, and what a reopening makes of a closed case.

Nothing is ever discharged by itself: a discharge is an entry that a clinician wrote (practice notes 1.5 and
4.13, cases 16, 17, 25 to 27).
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from armrise.store.clinic.actions.needs import (
    SHORTEST,
    Needs,
    finding_refusal,
    flag_refusal,
    message_refusal,
    power_refusal,
    seen,
)
from armrise.store.clinic.case.naming import SURGEON_TOLD
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.time import clocks
from armrise.store.clinic.time.slots import ATTEMPTS, brought_by_others, letter_to_patient
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.measured import Score
from armrise.store.record.light import dataclass
from armrise.store.record.words import count_days, full_date, plain, words_date
from armrise.store.rules.measure import InstrumentSpec

NEUTRAL = ("died", "moved")
"""Endings that are nobody's decision: prompts stop, letters are suppressed (practice note 4.13, case 27)."""

SEEN, NOT_NEEDED = "seen", "not needed"
REVIEW_ANSWERS = (SEEN, NOT_NEEDED)


@dataclass(frozen=True, slots=True, kw_only=True)
class DischargeAsk:
    """A discharge as it was typed; ``score`` None is not answered, an absence is "not obtained"."""

    outcome: str = ""
    measures: str = ""
    review: str = ""
    seen_on: date | None = None
    review_reason: str = ""
    score: Decimal | Absence | None = None
    referrer_told: bool = False
    safeguarding: str = ""


def discharge(view: View, ask: DischargeAsk) -> Needs:
    """Why this discharge may not be written, and what it still lacks."""
    refusals = (message_refusal(view), finding_refusal(view), power_refusal(view))
    open_still = flag_refusal(view, "discharge") or next(filter(None, refusals), "")
    needs = Needs("" if ask.outcome == "died" else open_still)
    if view.closed:
        needs.refused = f"{view.record.code} was discharged on {full_date(view.closed.on)} already."
    if not ask.outcome:
        needs.faults["outcome"] = "outcome: choose one."
    if ask.outcome != "died":
        _review_answered(view, ask, needs)
        _measured(view, ask, needs)
        _protected(view, ask, needs)
    if ask.outcome == "did not attend" and brought_by_others(view) and not ask.safeguarding:
        needs.faults["safeguarding"] = (
            "safeguarding: a minor or dependent adult was not brought; say what was thought and with whom."
        )
    return needs


def review_outstanding(view: View) -> date | None:
    """The day the review fell due, when it has and nobody has answered it; a hold does not answer it."""
    due = None if view.closed or view.waiting else clocks.original_due(view)
    return due if due and due <= view.today else None


def _review_answered(view: View, ask: DischargeAsk, needs: Needs) -> None:
    due = review_outstanding(view)
    if due is None:
        return
    if ask.review == SEEN:
        needs.faults |= seen(view, ask.seen_on or view.today).faults
    elif ask.review == NOT_NEEDED:
        if len(ask.review_reason) < SHORTEST:
            needs.faults["review_reason"] = f"why not needed: at least {SHORTEST} characters."
    else:
        say = f"review: it was due {words_date(due)} and is not answered"
        needs.faults["review"] = f"{say}; 1 seen, or 2 not needed with a reason."


def _measured(view: View, ask: DischargeAsk, needs: Needs) -> None:
    if not ask.measures:
        needs.faults["measures"] = "last measures: 1 recorded, or 2 not obtained."
    spec = score_asked(view)
    if spec is None:
        return
    if ask.score is None:
        if recent_score(view) is None:
            needs.faults["score"] = f"{spec.key} total: type it, or n for not obtained."
    elif isinstance(ask.score, Decimal) and not spec.low <= ask.score <= spec.high:
        allowed = f"{plain(spec.low)} to {plain(spec.high)}"
        needs.faults["score"] = f"{spec.key} total: {plain(ask.score)} is not allowed; {allowed}."


def score_asked(view: View) -> InstrumentSpec | None:
    """The region score of the pathway, which a discharge asks for; None without a first visit."""
    if view.pathway is None or view.waiting:
        return None
    return view.instruments.get(view.pathway.score)


def recent_score(view: View) -> Score | None:
    """The newest total of the region score that is recent enough to stand as the last one."""
    spec = score_asked(view)
    opens = view.today - timedelta(days=view.rules["score_due.answered_before_days"])
    scores = [s for s in view.since("scores", opens) if isinstance(s.total, Decimal)]
    return newest([s for s in scores if spec and s.instrument == spec.key])


def days_tried(view: View) -> int:
    """On how many days since the last visit somebody tried to reach the patient, or reached them."""
    return len({c.on for c in view.since("contacts", _since_visit(view)) if c.outcome in ATTEMPTS})


def _since_visit(view: View) -> date | None:
    return view.last_visit.on if view.last_visit else view.stage_start


def referrer_told(view: View) -> bool:
    """True when an entry since the last visit shows that the surgeon or referrer knows."""
    first = _since_visit(view)
    if any(e.surgeon_told for name in SURGEON_TOLD for e in view.since(name, first)):
        return True
    letters = [x for x in view.since("letters", first) if x.state == "sent"]
    return any(x.about in ("discharge", "progress") for x in letters)


def guarded(view: View) -> bool:
    """True where a discharge needs attempts and the referrer told: a protected stage."""
    return view.span is not None and clocks.in_protected_stage(view)


def attempts_lacking(view: View, seen_on: date | None = None) -> int:
    """Days of trying that a discharge from a protected stage still lacks.

    A patient who is seen on the day of the discharge stands there: nobody has to be rung.
    """
    if not guarded(view) or view.today in {seen_on, view.last_visit.on if view.last_visit else None}:
        return 0
    return max(0, view.rules["discharge.protected_attempts"] - days_tried(view))


def _protected(view: View, ask: DischargeAsk, needs: Needs) -> None:
    if not guarded(view):
        return
    stage = view.span.stage if view.span else ""
    lacking = attempts_lacking(view, ask.seen_on if ask.review == SEEN else None)
    if lacking:
        tried, most = days_tried(view), view.rules["discharge.protected_attempts"]
        needs.refused = needs.refused or (
            f"Protected stage {stage}: no discharge before contact was tried on {count_days(most)}; "
            f"recorded since the last visit: {tried}."
        )
    elif not ask.referrer_told and not referrer_told(view):
        needs.faults["told"] = f"referrer told: protected stage {stage}, tell the surgeon or referrer first."


def unanswered_misses(view: View) -> str:
    """What has to come before a discharge for missed visits: a letter with days to reply; empty if none.

    Said, never a refusal: it is the clinician who decides (practice note 1.5).
    """
    count, rules = len(clocks.missed(view)), view.rules
    row, after, days = f"Missed visits in a row: {count}", rules["missed.in_row"], rules["missed.letter_days"]
    if not count:
        return ""
    if count < after:
        return f"{row}; after {after} the patient is written to."
    sent = letter_to_patient(view)
    if sent is None:
        return f"{row}. No letter to the patient is recorded; {count_days(days)} to reply come first."
    ends = sent + timedelta(days=days)
    reply = f"until {full_date(ends)} to reply" if ends >= view.today else f"reply was due {full_date(ends)}"
    return f"{row}. Letter to the patient sent {words_date(sent)}, {reply}."


# --- reopening ------------------------------------------------------------------------------------------


def same_episode(view: View, *, new_mechanism: bool) -> bool:
    """Whether a case reopened today goes on in its episode: soon enough, and the same problem."""
    if view.closed is None or new_mechanism:
        return False
    return (view.today - view.closed.on).days <= view.rules["reopening.same_episode_days"]


def reopen(view: View, reason: str, *, mechanism_answered: bool) -> Needs:
    """A reopening: of a closed case, not of somebody who died, with a reason."""
    needs, code = Needs(), view.record.code
    if view.closed is None:
        needs.refused = f"{code} is not closed: there is nothing to reopen."
    elif view.closed.outcome == "died":
        needs.refused = f"{code} is closed as died: if that is wrong, withdraw the discharge entry instead."
    if not mechanism_answered:
        needs.faults["new_mechanism"] = "new injury or mechanism: answer y or n."
    if len(reason) < SHORTEST:
        needs.faults["reason"] = f"reason: at least {SHORTEST} characters."
    return needs
