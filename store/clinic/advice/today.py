"""What to say to the patient: today's limits in plain words, no codes, nothing that frightens.

The sentences carry the figures of the rule files and the dates of the surgeon's orders, and nothing else.
Where something may be wrong, nothing encouraging is said.
"""

from __future__ import annotations

from armrise.store.clinic.advice.dose_words import dose_words
from armrise.store.clinic.advice.flags import flag_lines
from armrise.store.clinic.advice.healing import healing_lines
from armrise.store.clinic.advice.pain import gone_back, pain_lines
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.breaches import in_force, open_breaches
from armrise.store.clinic.healing.healing import allowed_on
from armrise.store.clinic.time.clocks import hold_now
from armrise.store.clinic.verdict.screening import open_events, screen_open
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.words import near_date

SEE_YOU_FIRST = "We need to see you first, before you go on with the exercises."
NO_EXERCISES = "Leave out the exercises until you have been seen."
KEEP_LIMITS = "Please keep to these limits from today, also where you have been doing more."
RING_US = (
    "the shoulder turns hot, red or swollen, or you feel feverish or unwell",
    "you have a fall or a new injury, the shoulder slips, or you suddenly cannot lift the arm",
    "the arm or hand turns numb or weak, or neck movement sends pain down the arm",
    "hands clumsy or legs unsteady",
    "your bladder or bowel changes, or it turns numb where you sit",
    "your arm or calf swells",
    "you have chest pain or trouble breathing, or your sight changes: the emergency number first",
    "you have belly pain after a fall",
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
    leaves only what is to be done at once, and what holds the patient back.
    """
    if view.closed and view.closed.outcome == "died":
        return ()
    if must_be_seen(view):
        told = flag_lines(view)
        first = (*told, NO_EXERCISES) if told else (SEE_YOU_FIRST,)
        return (*first, *([] if view.closed else healing_lines(view)))
    if view.closed:
        return _closed(view)
    lines = _paused(view)
    if open_breaches(view):
        lines.append(KEEP_LIMITS)
    lines += healing_lines(view)
    if view.stage is None:
        return (*lines, _no_stage(view))
    return (*lines, *pain_lines(view, view.stage))


def must_be_seen(view: View) -> bool:
    """True while a possible red flag has no outcome or an injury waits for a visit: nothing encourages."""
    return screen_open(view) or bool(open_events(view))


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


def ring_us_if(view: View) -> tuple[str, ...]:
    """What should make the patient ring, the same for everybody; the wound where there was surgery."""
    operated = any(o.what == "surgery" and not o.history for o in view.upto("onsets"))
    return (*RING_US, RING_US_WOUND) if operated else RING_US


def exercises(view: View) -> tuple[str, ...]:
    """Today's home exercises with their doses, in plain words; none while the patient must be seen first.

    An exercise that healing does not allow today is named as one to leave out; one to go back with after a
    flare has the dose before it was raised (ruling 79).
    """
    if view.closed or must_be_seen(view):
        return ()
    allowed = allowed_on(view, view.today)
    done: list[ProgrammeItem] = []
    left: list[ProgrammeItem] = []
    back = {item.id: before for item, before in gone_back(view)}
    for item in (back.get(item.id, item) for item in in_force(view)):
        barred = allowed is not None and item.load_class not in allowed
        (left if barred else done).append(item)
    return (*(dose_words(i, view.rules) for i in done), *(f"leave out for now: {i.exercise}" for i in left))
