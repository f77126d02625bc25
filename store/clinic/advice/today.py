"""What to say to the patient: today's limits in plain words, no codes, nothing that frightens.

The sentences carry the figures of the rule files and the dates of the surgeon's orders, and nothing else.
Where something may be wrong, nothing encouraging is said.
"""

from __future__ import annotations

from armrise.store.clinic.advice.dose_words import dose_words
from armrise.store.clinic.advice.healing import healing_lines
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.breaches import in_force, open_breaches
from armrise.store.clinic.healing.healing import allowed_on
from armrise.store.clinic.pain.creep import creep, latest_baseline
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.response import Response
from armrise.store.clinic.time.clocks import hold_now
from armrise.store.clinic.verdict.screening import open_events, screen_open
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.words import near_date
from armrise.store.rules.pathway import Stage

SEE_YOU_FIRST = "We need to see you first, before you go on with the exercises."
KEEP_LIMITS = "Please keep to these limits from today, also where you have been doing more."
NOT_RAISED = "Add no weight and no repetitions until the mornings are back to {usual}."
RING_US = (
    "the shoulder turns hot, red or swollen, or you feel feverish or unwell",
    "you have a fall or a new injury, the shoulder slips, or you suddenly cannot lift the arm",
    "the arm or hand turns numb or weak, or neck movement sends pain down the arm",
    "your arm or calf swells",
    "the pain does not ease in any position, day or night, or you lose weight without trying",
)
"""When to ring, in plain words, from the red-flag screen. A prompt and no rule-out."""
RING_US_WOUND = "the wound weeps or opens"
EMERGENCY = (
    "For chest pain or trouble breathing, or a sudden change of your sight, call the emergency number first."
)


def say_to_patient(view: View) -> tuple[str, ...]:
    """Today's limits in plain sentences, what matters most first; none where nothing is to be said.

    Practice notes 8, 13, and trap 3 of section 7. A possible red flag or an injury that nobody has assessed
    leaves only what holds the patient back.
    """
    if view.closed and view.closed.outcome == "died":
        return ()
    if must_be_seen(view):
        return (SEE_YOU_FIRST, *([] if view.closed else healing_lines(view)))
    if view.closed:
        return _closed(view)
    lines = _paused(view)
    if open_breaches(view):
        lines.append(KEEP_LIMITS)
    lines += healing_lines(view)
    if view.stage is None:
        return (*lines, _no_stage(view))
    return (*lines, *_pain_lines(view, view.stage))


def must_be_seen(view: View) -> bool:
    """True while a possible red flag has no outcome or an injury waits for a visit: nothing encourages."""
    return screen_open(view) or bool(open_events(view))


def usual_morning(view: View) -> int | None:
    """The next-morning pain to come back to, in points: the baseline before it crept; None unknown."""
    crept = creep(view)
    if crept:
        return crept[1]
    baseline = Response.of(view).baseline(view.today)
    if baseline is not None:
        return baseline
    latest = latest_baseline(view)
    return latest[0] if latest else None


def _closed(view: View) -> tuple[str, ...]:
    told = [f for f in view.upto("findings") if f.name == "open access set" and f.answer in ("yes", "no")]
    back = "; you may come back to us without a new referral" if told and told[-1].answer == "yes" else ""
    return (f"Your treatment with us has ended{back}.",)


def _paused(view: View) -> list[str]:
    pause = hold_now(view)
    return [f"Your treatment is paused; we go on from {near_date(pause.end, view.today)}."] if pause else []


def _no_stage(view: View) -> str:
    if view.span is not None:
        return "Ask us before you exercise: your limits have to be looked at again."
    return "Your limits for the exercises are not set yet: we set them together at your visit."


def _pain_lines(view: View, stage: Stage) -> list[str]:
    """The pain limits of the stage, with the morning the shoulder has to come back to."""
    during, later = stage.limits.during.whole, stage.limits.later.whole
    usual = usual_morning(view)
    back = "what it usually is" if usual is None else f"your usual {usual}"
    if during == later:
        first = f"Keep pain in the exercises and later that day to {during} of 10 or less"
    else:
        first = f"Keep pain in the exercises to {during} of 10 or less, later that day to {later} or less"
    lines = [f"{first}, and back to {back} by next morning."]
    if usual is not None and usual > min(during, later):
        lines.append("Your usual pain is above that: ask us before you exercise.")
    if flare_state(view):
        lines.append(NOT_RAISED.format(usual=back))
    return lines


def ring_us_if(view: View) -> tuple[str, ...]:
    """What should make the patient ring, the same for everybody; the wound where there was surgery."""
    operated = any(o.what == "surgery" and not o.history for o in view.upto("onsets"))
    return (*RING_US, RING_US_WOUND) if operated else RING_US


def exercises(view: View) -> tuple[str, ...]:
    """Today's home exercises with their doses, in plain words; none while the patient must be seen first.

    An exercise that healing does not allow today is named as one to leave out.
    """
    if view.closed or must_be_seen(view):
        return ()
    allowed = allowed_on(view, view.today)
    done: list[ProgrammeItem] = []
    left: list[ProgrammeItem] = []
    for item in in_force(view):
        barred = allowed is not None and item.load_class not in allowed
        (left if barred else done).append(item)
    return (*(dose_words(i, view.rules) for i in done), *(f"leave out for now: {i.exercise}" for i in left))
