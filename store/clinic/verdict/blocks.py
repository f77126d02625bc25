"""What forbids READY, and what withholds it until it is known, beside the criteria of the stage (ruling 68).

One line each, in the order in which the verdict names them. A line of its own is a function of the view and
an entry of :data:`NOT_MET_LINES` or :data:`UNKNOWN_LINES`, at its place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from armrise.store.clinic.case.standing import CriterionResult, Truth
from armrise.store.clinic.case.view import View
from armrise.store.clinic.findings.contradicted import contradicted
from armrise.store.clinic.findings.triggers import MATTER as TO_ACT_ON
from armrise.store.clinic.findings.triggers import look_again, to_act
from armrise.store.clinic.healing.breaches import open_breaches
from armrise.store.clinic.healing.healing import clocks_elsewhere, onset_word, operated_on
from armrise.store.clinic.healing.other_clock import NO_FIT
from armrise.store.clinic.motion.denied import lift_denied
from armrise.store.clinic.motion.drift import drift, stiff_after_surgery
from armrise.store.clinic.motion.lift import LOOK, power_loss
from armrise.store.clinic.motion.lift import MATTER as LOSING_POWER
from armrise.store.clinic.motion.unsettled import doubted_loss, lost_early, lost_once
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.pain.visits import MATTER as WORSE_AT_VISITS
from armrise.store.clinic.pain.visits import worse_at_visits
from armrise.store.clinic.verdict.flare import flare_lines
from armrise.store.clinic.verdict.freshness import IN_FULL, full_screens, question_due, screen_again
from armrise.store.clinic.verdict.messages import urgent_message
from armrise.store.clinic.verdict.screening import (
    open_events,
    open_flags,
    orders_missing,
    screen_declined,
    screen_unanswered,
)
from armrise.store.clinic.verdict.unseen import does_healing_count_anew, out_of_sight
from armrise.store.record.words import words_date

Lines = Iterator[CriterionResult]


def not_met_blocks(view: View) -> list[CriterionResult]:
    """What forbids READY outright, in the printed order."""
    return [line for lines in NOT_MET_LINES for line in lines(view)]


def unknown_blocks(view: View) -> list[CriterionResult]:
    """What withholds READY until it is known, in the printed order."""
    return [line for lines in UNKNOWN_LINES for line in lines(view)]


def _block(text: str, observed: str) -> CriterionResult:
    return CriterionResult(text, "", observed, None, Truth.NOT_MET, "safety rule", "design")


def _missing(text: str, observed: str, effort: int = 1) -> CriterionResult:
    """Something to record; the line names it without saying again that it is missing."""
    ask = text.removesuffix(" missing").removesuffix(" incomplete")
    state = Truth.UNKNOWN
    return CriterionResult(text, "", observed, None, state, "safety rule", "design", ask, effort)


def _open_question(text: str, observed: str) -> CriterionResult:
    """Something to see, to decide or to answer, rather than to record: the line is the text itself."""
    return CriterionResult(text, "", observed, None, Truth.UNKNOWN, "safety rule", "design")


# --- not met ------------------------------------------------------------------------------------------------


def _limits_broken(view: View) -> Lines:
    if broken := open_breaches(view):
        yield _block("limit breach open: stop the forbidden load", broken[-1].sentence)


def _injuries(view: View) -> Lines:
    if events := open_events(view):
        yield _block("new injury not assessed", events[-1].event)


def _flags(view: View) -> Lines:
    if flags := open_flags(view):
        yield _block("red-flag query open", "; ".join(dict.fromkeys(flag.item for flag in flags)))


def _to_act_on(view: View) -> Lines:
    yield from (_block(TO_ACT_ON, found.sentence) for found in to_act(view))


def _losing_power(view: View) -> Lines:
    if weaker := power_loss(view):
        yield _block(LOSING_POWER, weaker.sentence)


def _flare(view: View) -> Lines:
    if flare := flare_state(view):
        yield from (_block(text, observed) for text, observed in flare_lines(view, flare))


def _worse_at_visits(view: View) -> Lines:
    if risen := worse_at_visits(view):
        yield _block(WORSE_AT_VISITS, risen.sentence)


def _range_lost(view: View) -> Lines:
    lost, stiff = drift(view), stiff_after_surgery(view)
    if lost and lost.code == "STF" and lost != stiff:
        yield _block("range being lost", lost.sentence)
    elif early := lost_early(view):
        yield _block("range being lost", early.sentence)
    if stiff:
        yield _block("surgeon not told", stiff.sentence)


NOT_MET_LINES: tuple[Callable[[View], Lines], ...] = (
    _limits_broken,
    _injuries,
    _flags,
    _to_act_on,
    _losing_power,
    _flare,
    _worse_at_visits,
    _range_lost,
)
"""In the order of ruling 68.6; criteria, minimum days and the gate follow."""


# --- unknown ------------------------------------------------------------------------------------------------


def _other_clock(view: View) -> Lines:
    others = clocks_elsewhere(view, view.today)
    yield from (_open_question(NO_FIT, other.words(view.today)) for other in others)
    if not others and (operated := operated_on(view, view.today)):
        yield _missing("placing after surgery", f"surgery on {words_date(operated.on)} recorded")


def _second_event(view: View) -> Lines:
    if asked := does_healing_count_anew(view):
        yield _open_question("second event: does healing count anew?", asked)


def _look_again(view: View) -> Lines:
    asked = dict(look_again(view))
    if denied := lift_denied(view):
        asked.setdefault(LOOK, denied.observed)
    yield from (_open_question(f"look again: {what}", seen) for what, seen in asked.items())


def _not_seen(view: View) -> Lines:
    if unseen := out_of_sight(view):
        yield _open_question(f"{unseen.text}: see before stepping", unseen.why)


def _message(view: View) -> Lines:
    if message := urgent_message(view):
        yield _open_question("answer the message first", message.sentence)


def _screen_again(view: View) -> Lines:
    for found in contradicted(view):
        yield _open_question(f"red-flag screen again: {found.item}", found.sentence)
    if again := screen_again(view):
        yield _missing("red-flag screen again", again.sentence)


def _screen(view: View) -> Lines:
    if due := question_due(view):
        yield _missing(due.missing, due.observed)
    if left := screen_unanswered(view):
        yield _missing("red-flag screen incomplete", f"{len(left)} items not asked")
    elif not full_screens(view):
        yield _missing(IN_FULL, "never asked in full")
    if declined := screen_declined(view):
        yield _missing("red-flag screen declined", f"{len(declined)} items declined")


def _orders(view: View) -> Lines:
    if orders_missing(view):
        yield _missing("surgeon's orders missing", "not recorded", 2)


def _healing_date(view: View) -> Lines:
    if view.pathway and view.pathway.clock and view.onset() is None:
        yield _missing(f"{onset_word(view.pathway)} date missing", "not recorded")


def _range_in_doubt(view: View) -> Lines:
    once = lost_once(view)
    for observed in filter(None, (once.sentence if once else "", doubted_loss(view))):
        yield _missing("passive range, measured again", observed)


UNKNOWN_LINES: tuple[Callable[[View], Lines], ...] = (
    _other_clock,
    _second_event,
    _look_again,
    _not_seen,
    _message,
    _screen_again,
    _screen,
    _orders,
    _healing_date,
    _range_in_doubt,
)
"""In the order of ruling 68.7; what the criteria lack follows."""
