"""The eight lines of a letter about a case, each from the view; what is dangerous begins its line."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from decimal import Decimal

from armrise.store.clinic.actions.needs import referrals_waiting
from armrise.store.clinic.case.standing import Standing, Truth, Word
from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.healing.breaches import in_force, open_breaches
from armrise.store.clinic.letter.changes import (
    in_words,
    pain_changes,
    range_changes,
    strength_changes,
)
from armrise.store.clinic.letter.reader import latest_referral, sender
from armrise.store.clinic.motion.contradictions import standing_contradictions
from armrise.store.clinic.scores import outcome
from armrise.store.clinic.scores.change import ScoreChange, latest_change, left_out
from armrise.store.clinic.scores.scale import RATING, direction, formula_of
from armrise.store.clinic.series.scores import instruments
from armrise.store.clinic.standing import words
from armrise.store.clinic.time.clocks import next_slot
from armrise.store.clinic.verdict.criteria import score_against_pain
from armrise.store.clinic.verdict.screening import open_events, open_flags, orders_missing
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import MISSED, Attendance
from armrise.store.record.kinds.measured import Score
from armrise.store.record.kinds.pain import Medicine
from armrise.store.record.kinds.paperwork import Referral
from armrise.store.record.words import clock_words, day_year, plain, value_words

GLOBAL = "GROC"
OF_PAIN = "pain:"
"""The limit of pain in the exercises is the patient's; the others are the surgeon's or of healing."""
SAID_ELSEWHERE = ("RED", "INJ", "LIM", "LTR", "RDY")
"""Reasons that another line or the verdict says."""
PLAIN_WORDS = {
    Word.NOT_YET: "not ready to step forward yet",
    Word.UNKNOWN: "not known whether ready to step forward",
    Word.ON_HOLD: "on hold",
}
"""Verdicts whose line says criteria of the rule files."""
MOST_NAMED = 4
"""Exercises that are named; of more the number is said."""


def whom(view: View) -> str:
    """1. Code, side, what was referred and when, and how it began."""
    record, pathway = view.record, view.pathway
    age = record.age_band or "age not recorded"
    name = pathway.name if pathway else f"pathway {record.pathway}"
    sent = f"{sender(view)}, registered {day_year(record.registered_on)}"
    return _sentences([f"{record.code}, {record.side} shoulder, {age}", name, sent, _began(view)])


def _began(view: View) -> str:
    """Surgery, injury or beginning with its date, the newest of the episode."""
    onset = newest(view.since("onsets", view.episode_start)) or newest(view.upto("onsets"))
    if onset is None:
        return "Onset: not recorded"
    operation = f", {onset.operation}" if onset.operation else ""
    days = (view.today - onset.on).days
    return f"{onset.what.capitalize()} {day_year(onset.on)}{operation} (day {days})"


def dates(view: View) -> str:
    """2. First and last visit, how many were kept and missed, and what is booked."""
    visits = sorted({visit.on for visit in view.since("visits", view.episode_start)})
    missed = sorted({slot.booked_for for slot in _missed(view)})
    gone = ", ".join(day_year(day) for day in missed)
    if not visits:
        return f"First visit: not yet. {_number(len(missed), 'visit')} missed{f' ({gone})' if gone else ''}."
    last = f", last {day_year(visits[-1])}" if len(visits) > 1 else ""
    kept = f"First visit {day_year(visits[0])}{last}: {_number(len(visits), 'visit')} kept"
    return f"{kept}, {len(missed)} missed{f' ({gone})' if gone else ''}.{_booked(view)}"


def _missed(view: View) -> list[Attendance]:
    start = view.episode_start
    every: list[Attendance] = view.upto("attendances")
    return [a for a in every if a.outcome in MISSED and (start is None or a.booked_for >= start)]


def _number(count: int, noun: str) -> str:
    return f"1 {noun}" if count == 1 else f"{count} {noun}s"


def _booked(view: View) -> str:
    if view.closed:
        return ""
    slot = next_slot(view)
    return f" Next booked {day_year(slot.booked_for)}{clock_words(slot.at)}." if slot else " None booked."


def pain(view: View, standing: Standing) -> str:
    """3. Worst pain and nights, first and last, and the newest check-in."""
    rated = any(score.instrument == RATING for score in view.since("scores", view.segment_start))
    said = [*in_words(pain_changes(view)), *(_score(view, RATING) if rated else [])]
    last = standing.pain
    if last.date:
        said.append(f"check-in {day_year(last.date)}: {words.spoken_scores(last)}")
    medicine: Medicine | None = newest(view.since("medicines", view.episode_start))
    if medicine:
        said.append(
            f"{medicine.what} {day_year(medicine.on)}{f', {medicine.change}' if medicine.change else ''}"
        )
    return f"Pain 0 to 10. {_sentences(said)}"


def movement(view: View) -> str:
    """4. Range and strength, first and last, against the other side and the error of measuring."""
    doubts = {
        found.words: found.measure.on
        for found in standing_contradictions(view).values()
        if found.measure.side in (None, view.record.side)
    }
    first = [f"Contradiction: {said}, {day_year(on)}, not confirmed" for said, on in doubts.items()]
    ranges = range_changes(view)
    twice = [one for one in ranges if one.last is not None]
    # What was measured once shows no change: it stands in the table, and here where nothing else does.
    shown = [one for one in ranges if one.last is not None or one.first is None or not twice]
    strength = in_words(strength_changes(view)) or ["strength not recorded"]
    return f"{_sentences(first)} Degrees. {_sentences([*in_words(shown), *strength])}".strip()


def score(view: View) -> str:
    """5. Each judged score: direction, first, last, change, threshold, error; the patient's own answer."""
    against = score_against_pain(view)
    first = [against.capitalize()] if against else []
    names = instruments(view)
    said = [one for name in names for one in _score(view, name)] or ["Outcome score: not recorded"]
    return _sentences([*first, *said, *_own_answer(view)])


def _score(view: View, name: str) -> list[str]:
    told: list[Score] = [s for s in view.since("scores", view.segment_start) if s.instrument == name]
    if not told:
        return [f"{name}: not recorded"]
    spec, changed, moved = view.instruments[name], latest_change(view, name), outcome.change(view, name)
    formula = formula_of(spec, told[-1])
    of = f", {formula}" if formula else ""
    scale = f"{name} ({plain(spec.low)} to {plain(spec.high)}, {direction(spec)}{of})"
    last = told[-1]
    newer = "" if isinstance(last.total, Decimal) else f"; {day_year(last.on)}: {_no_total(last)}"
    if changed and moved:
        dated = f"{plain(moved.first)} on {day_year(moved.first_on)}, {plain(moved.latest)} on"
        totals = f"{scale}: {dated} {day_year(moved.latest_on)}{newer}"
        return [f"{totals}, {', '.join(judged_words(changed))}", *left_out(view, name)]
    totals = outcome.with_total(view, name)
    if not totals:
        return [f"{scale}{newer}"]
    why = f"; not comparable ({', '.join(changed.not_comparable)})" if changed else ", no other total"
    return [f"{scale}: {value_words(totals[-1].total)} on {day_year(totals[-1].on)}{why}{newer}"]


def _no_total(form: Score) -> str:
    return f"total {form.total}" if isinstance(form.total, Absence) else "form incomplete, no total"


def judged_words(change: ScoreChange) -> tuple[str, ...]:
    """The change toward better, the threshold that patients notice and the error, each with its figure."""
    moved = change.toward_better or Decimal(0)
    way = "" if moved == 0 else f" toward {'better' if moved > 0 else 'worse'}"
    said = (f"change {plain(abs(moved))}{way}", _threshold(change), score_error(change), change.note)
    return tuple(filter(None, said))


def _threshold(change: ScoreChange) -> str:
    if change.response is None:
        return "threshold not known"
    size = f"the threshold {plain(change.response.value)}{change.response.mark}"
    if change.reaches_response is None:
        return f"no room for {size}"
    return f"{'reaches' if change.reaches_response else 'does not reach'} {size}"


def score_error(change: ScoreChange) -> str:
    """Whether a change lies beyond the error of the score, with its figure."""
    if change.detectable is None:
        return "error not known"
    where = "beyond" if change.beyond_error else "within"
    return f"{where} error {plain(change.detectable.value)}{change.detectable.mark}"


def _own_answer(view: View) -> list[str]:
    """What the patient said of the whole change, which goes in beside the score (practice note 4.13, 37)."""
    told: list[Score] = [s for s in view.since("scores", view.segment_start) if s.instrument == GLOBAL]
    last = newest([s for s in told if isinstance(s.total, Decimal)])
    spec = view.instruments.get(GLOBAL)
    if last is None or spec is None or not isinstance(last.total, Decimal):
        return []
    sign = "+" if last.total > 0 else ""
    scale = f"{plain(spec.low)} to +{plain(spec.high)}"
    return [f"patient's own answer ({GLOBAL}, {scale}): {sign}{plain(last.total)} on {day_year(last.on)}"]


def state(view: View, standing: Standing) -> str:
    """6. What is open first; then stage and days, response by the scores, and the verdict in words."""
    days = standing.days_in_stage
    usual = f", usual {standing.usual_days}" if standing.usual_days is not None else ""
    episode = standing.days_in_episode
    since = f", day {episode} since the first visit" if episode is not None else ""
    where = f"Stage {words.stage(standing)}" if standing.stage else "Not placed in a stage"
    stage = f"{where}, day {days}{usual}{since}" if days is not None else where
    return _sentences([*_open(view), stage, _response(view), *_verdict(standing)])


def dangers(view: View) -> dict[str, list[str]]:
    """What no letter may leave out, by what it is: possible red flags, injuries, broken healing limits."""
    return {
        "Possible red flag, no outcome recorded": [
            f'"{flag.item}" of {day_year(flag.on)}' for flag in open_flags(view)
        ],
        "Injury that no visit has assessed": [
            f"{event.event} of {day_year(event.on)}" for event in open_events(view)
        ],
        "Healing limit broken": [f"{day_year(b.on)}, {b.sentence}" for b in open_breaches(view)],
    }


def _open(view: View) -> list[str]:
    return [f"{what}: {'; '.join(each)}" for what, each in dangers(view).items() if each]


def _response(view: View) -> str:
    said = {Truth.MET: "yes", Truth.NOT_MET: "no", Truth.UNKNOWN: "cannot be said from what is recorded"}
    return f"Response by score or goal: {said[outcome.responded(view)]}"


def _verdict(standing: Standing) -> list[str]:
    """The advice of the rules, and what places the case on the list where the verdict does not say it."""
    verdict, placing = standing.verdict, standing.placing
    # What the stage still asks for is the clinic's own; a reader outside is told what it comes to.
    plain_word = PLAIN_WORDS.get(verdict.word) or words.verdict_told(verdict)
    told = [] if verdict.word is Word.NONE else [f"Verdict: {plain_word}"]
    said = placing is None or placing.code in SAID_ELSEWHERE or placing.sentence in verdict.line
    return told if said or placing is None else [*told, words.named(placing)]


def plan(view: View, standing: Standing) -> str:
    """7. Limits, programme and next review; of a closed case how it ended and how to come back."""
    if view.closed:
        return _ended(view)
    items = [item.exercise for item in in_force(view)]
    more = f", and {len(items) - MOST_NAMED} more" if len(items) > MOST_NAMED else ""
    named = f"{_number(len(items), 'exercise')}: {', '.join(items[:MOST_NAMED])}{more}"
    healing = [limit.rstrip(".") for limit in standing.limits if not limit.startswith(OF_PAIN)]
    limits = [f"Limits: {'; '.join(healing)}"] if healing else []
    return _sentences([*limits, f"Programme: {named if items else 'none recorded'}", _review(standing)])


def _review(standing: Standing) -> str:
    owed = standing.review
    if standing.hold_until:
        return f"On hold until {day_year(standing.hold_until)}"
    if owed.due is None:
        return "Next review: none due"
    late = f", {words.overdue_words(owed)}" if owed.overdue_days else ""
    return f"Next review due {day_year(owed.due)}{late}"


def _ended(view: View) -> str:
    """How the episode ended, and until when a return goes on in it."""
    closed = view.closed
    assert closed is not None
    until = closed.on + timedelta(days=view.rules["reopening.same_episode_days"])
    return _sentences(
        [
            f"Discharged {day_year(closed.on)}: {closed.outcome}. Last measures {closed.measures}",
            _open_access(view),
            f"A return for the same problem by {day_year(until)} goes on in this episode",
        ]
    )


def _open_access(view: View) -> str:
    said = view.yes_or_no("open access set")
    if said is None:
        return "Open access: not recorded"
    return f"Open access: {said.answer}, {day_year(said.on)}"


def asked(view: View, standing: Standing, about: str) -> str:
    """8. What is asked of the reader: of a referral what it says, else what the record lacks of them."""
    found = [_referred(view)] if about == "referral" else []
    found += _danger_asked(view)
    if orders_missing(view):
        found.append("your written orders, which are not recorded")
    if standing.verdict.word is Word.REFER and about != "referral" and not open_flags(view):
        found.append(f"your opinion: {standing.verdict.line}")
    if about != "referral":
        found += [f"an answer to the {_sent(referral)}" for referral in referrals_waiting(view)]
    return f"Asked of you: {'; '.join(found)}." if found else "Asked of you: nothing."


def _danger_asked(view: View) -> list[str]:
    flag = "what you find about the possible red flag" if open_flags(view) else ""
    limit = "your opinion on the broken healing limit" if open_breaches(view) else ""
    return [said for said in (flag, limit) if said]


def _referred(view: View) -> str:
    referral = latest_referral(view)
    if referral is None:
        return "not recorded, no referral is on record"
    note = f": {referral.note.rstrip('.')}" if referral.note else ""
    return f"{referral.urgency}, about {referral.about}{note} (referred {day_year(referral.on)})"


def _sent(referral: Referral) -> str:
    return f"referral of {day_year(referral.on)} about {referral.about}"


def _sentences(clauses: Iterable[str]) -> str:
    """Each clause as a sentence of its own, beginning with a capital."""
    said = (clause.strip().rstrip(".") for clause in clauses)
    return " ".join(f"{clause[0].upper()}{clause[1:]}." for clause in said if clause)
