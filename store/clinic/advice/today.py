"""What to say to the patient: today's limits in plain words, no codes, nothing that frightens.

The sentences carry the figures of the rule files and the dates of the surgeon's orders, and nothing else;
the words are those of the rules in force (``rules.words``).
Where something may be wrong, nothing encouraging is said.
"""

from __future__ import annotations

from armrise.store.clinic.advice.dose_words import Told, told
from armrise.store.clinic.advice.flags import flag_lines
from armrise.store.clinic.advice.healing import healing_lines
from armrise.store.clinic.advice.pain import gone_back, pain_lines
from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.breaches import in_force, open_breaches
from armrise.store.clinic.healing.healing import allowed_on
from armrise.store.clinic.time.clocks import hold_now
from armrise.store.clinic.verdict.screening import open_events, screen_open
from armrise.store.rules.words.beside_rules import stage_words

RING_US = (
    *("ring_us.hot", "ring_us.fall", "ring_us.numb", "ring_us.unsteady", "ring_us.bladder"),
    *("ring_us.swelling", "ring_us.chest", "ring_us.belly", "ring_us.unrelenting"),
)
"""When to ring, from the red-flag screen. A prompt and no rule-out."""
RING_US_WOUND = "ring_us.wound"


def say_to_patient(view: View) -> tuple[str, ...]:
    """Today's limits in plain sentences, what matters most first; none where nothing is to be said.

    Practice notes 8, 13, and trap 3 of section 7. A possible red flag or an injury that nobody has assessed
    leaves only what is to be done at once, and what holds the patient back.
    """
    return (*said_at_once(view), *said_of_limits(view), *said_of_pain(view))


def said_at_once(view: View) -> tuple[str, ...]:
    """What a possible red flag or an injury asks to be done at once; nothing where there is none."""
    if _died(view) or not must_be_seen(view):
        return ()
    told, words = flag_lines(view), view.rules.words
    return (*told, words.say("today.no_exercises")) if told else (words.say("today.see_you_first"),)


def said_of_limits(view: View) -> tuple[str, ...]:
    """What holds the patient back today, and what a stage says of its own; or that treatment has ended."""
    seen_first = must_be_seen(view)
    if view.closed:
        return () if seen_first or _died(view) else (_closed(view),)
    if seen_first:
        return tuple(healing_lines(view))
    lines = _paused(view)
    if open_breaches(view):
        lines.append(view.rules.words.say("today.keep_limits"))
    lines += healing_lines(view)
    own = _no_stage(view) if view.stage is None else stage_words(view.rules, view.stage)
    return (*lines, *([own] if own else []))


def said_of_pain(view: View) -> tuple[str, ...]:
    """How much pain is allowed, and what to do with more; nothing while nothing encourages."""
    if view.closed or must_be_seen(view) or view.stage is None:
        return ()
    return tuple(pain_lines(view, view.stage))


def must_be_seen(view: View) -> bool:
    """True while a possible red flag has no outcome or an injury waits for a visit: nothing encourages."""
    return screen_open(view) or bool(open_events(view))


def _died(view: View) -> bool:
    return view.closed is not None and view.closed.outcome == "died"


def _closed(view: View) -> str:
    told = [f for f in view.upto("findings") if f.name == "open access set" and f.answer in ("yes", "no")]
    back = bool(told) and told[-1].answer == "yes"
    return view.rules.words.say("today.ended_come_back" if back else "today.ended")


def _paused(view: View) -> list[str]:
    pause, words = hold_now(view), view.rules.words
    return [words.say("today.paused", date=words.date(pause.end, view.today))] if pause else []


def _no_stage(view: View) -> str:
    return view.rules.words.say("today.no_limits_yet" if view.span is None else "today.ask_first")


def ring_us_if(view: View) -> tuple[str, ...]:
    """What should make the patient ring, the same for everybody; the wound where there was surgery."""
    operated = any(o.what == "surgery" and not o.history for o in view.upto("onsets"))
    return tuple(map(view.rules.words.say, (*RING_US, RING_US_WOUND) if operated else RING_US))


def told_exercises(view: View) -> tuple[Told, ...]:
    """Today's home exercises with their doses, in plain words; none while the patient must be seen first.

    An exercise that healing does not allow today is named as one to leave out; one to go back with after a
    flare has the dose before it was raised (ruling 79).
    """
    if view.closed or must_be_seen(view):
        return ()
    allowed = allowed_on(view, view.today)
    done: list[Told] = []
    left: list[Told] = []
    back = {item.id: before for item, before in gone_back(view)}
    for item in (back.get(item.id, item) for item in in_force(view)):
        if allowed is not None and item.load_class not in allowed:
            left.append(Told(view.rules.words.exercise(item.exercise), left_out=True))
        else:
            done.append(told(item, view.rules))
    return (*done, *left)
