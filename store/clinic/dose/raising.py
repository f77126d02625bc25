"""Raising a dose: repetitions, then load, then another exercise; one load at a time, never unsettled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from armrise.store.clinic.case.view import View
from armrise.store.clinic.dose.facts import SHORT, CaseFacts, ItemFacts
from armrise.store.clinic.dose.parts import (
    Dose,
    amount,
    amount_word,
    is_loaded,
    step_percent,
    target_range,
    with_amount,
)
from armrise.store.clinic.dose.proposal import CHANGE, HOLD, LOAD, REPS, Proposal, hold, propose
from armrise.store.clinic.healing.breaches import open_breaches
from armrise.store.clinic.healing.fit import fits_stage
from armrise.store.clinic.healing.healing import guarded
from armrise.store.clinic.pain.flare import flare_state
from armrise.store.clinic.verdict.criteria import masks
from armrise.store.record.kinds.programme import CLASS_WORDS, ISOMETRIC
from armrise.store.record.words import count_days, plain, words_date


def short(facts: ItemFacts) -> Proposal | None:
    """Good, but not the whole dose: finish this one first (practice note 5.2, 7)."""
    if not facts.at_dose or facts.at_dose[-1].full != SHORT:
        return None
    last = facts.at_dose[-1]
    reason = f"dose not completed on {words_date(last.on)}: finish this dose first"
    run = facts.good_run(SHORT)
    if len(run) >= facts.rules["dose.short_run"]:
        reason = f"dose not completed {len(run)} times running: the dose may be too long, ask"
    return hold(facts, reason, last.judged)


def on_the_way_up(facts: ItemFacts) -> Proposal:
    """Good and full so far: repetitions up to the top of the range, then load (practice note 5.2, 8-10)."""
    spread = target_range(facts.item)
    judged = [told.judged for told in facts.good_run()]
    if spread is None:
        return hold(facts, f"no range of {amount_word(facts.item)} is set: say one to let it rise", *judged)
    held = held_back(facts.case.view, facts.item.load_class)
    if held:
        return hold(facts, held, *judged)
    if amount(facts.item) < spread[1]:
        return _more(facts, spread[1])
    return _heavier(facts, spread[0])


def held_back(view: View, load_class: str) -> str:
    """Why nothing may be raised today though the sessions were good; empty when nothing forbids it.

    The note's rule reads sessions alone. These are the safer reading: pain that is not settling by another
    sign, a limit broken and not answered, pain that cannot be read, a class the stage does not hold.
    """
    state = flare_state(view)
    if state is not None:
        return f"not raised while pain is not settling: {state.sentence}"
    if open_breaches(view):
        return "not raised while a broken healing limit is not answered"
    masked = masks(view)
    if masked and view.pathway and view.pathway.masked_is_unknown:
        return f"not raised while pain may be masked: {masked}"
    if view.stage and not fits_stage(view, load_class):
        return f"not raised: {CLASS_WORDS[load_class]} is not part of {view.stage.code} {view.stage.name}"
    return ""


def _more(facts: ItemFacts, high: int) -> Proposal:
    """Repetitions, or seconds, by one step and not above the range."""
    item, rules = facts.item, facts.rules
    judged, needed = [done.judged for done in facts.good_run()], rules["dose.reps_run"]
    run_mark = rules.figures["dose.reps_run"].mark
    if len(judged) < needed:
        return hold(
            facts, f"{len(judged)} of {needed} good full sessions in a row at this dose{run_mark}", *judged
        )
    step = rules["dose.hold_step" if item.load_class in ISOMETRIC else "dose.reps_step"]
    dose = with_amount(facts.current, item, min(amount(item) + step, high))
    return propose(facts, REPS, dose, f"{needed} good full sessions in a row{run_mark}", *judged)


def _heavier(facts: ItemFacts, low: int) -> Proposal:
    """The next load once the run is long enough and the last increase long enough ago."""
    item, home = facts.item, facts.case.home
    heavier = home.higher(item) if home.known else None
    needed, step = _needed(facts, heavier)
    judged = [done.judged for done in facts.good_run()]
    if len(judged) < needed:
        return hold(facts, f"{len(judged)} of {needed} good full sessions in a row{step}", *judged)
    opens = _opens(facts)
    if opens:
        return replace(hold(facts, opens[1], *judged), not_before=opens[0])
    reason = f"{len(judged)} good full sessions in a row at the top of the range"
    if heavier is not None:
        dose = with_amount(heavier, item, low)
        found = propose(facts, LOAD, dose, f"{reason}{step}", *judged)
        return replace(found, evidence=(*found.evidence, home.entry.id)) if home.entry else found
    if is_loaded(item) and not home.known:
        return propose(facts, LOAD, None, f"{reason}: record the weights at home to name the next", *judged)
    why = "no heavier load at home" if is_loaded(item) else "no load to raise"
    if is_loaded(item) and home.heaviest is not None:
        why = f"no heavier load at home within the ordered {plain(home.heaviest)} kg"
    words = f"{reason}, {why}: change range, lever or speed, the clinician decides"
    return propose(facts, CHANGE, facts.current, words, *judged)


def _needed(facts: ItemFacts, heavier: Dose | None) -> tuple[int, str]:
    """(sessions needed, the next step in words): fewer for a small step; a band grade is a large one."""
    rules = facts.rules
    if heavier is None:
        return rules["dose.large_run"], ""
    percent = step_percent(facts.item, heavier)
    if percent is None or heavier.load is None:
        return rules["dose.large_run"], f"; next is band {heavier.band}"
    run = "dose.small_run" if percent <= rules["dose.small_step_percent"] else "dose.large_run"
    words = f"; next step {plain(heavier.load)} kg is +{round(percent)} %"
    marks = (rules.figures[key].mark for key in ("dose.small_step_percent", run))
    return rules[run], words + next((mark for mark in marks if mark), "")


def _opens(facts: ItemFacts) -> tuple[date, str] | None:
    """(day, words) while the last increase of this load is too recent."""
    rose, wait = facts.last_load_increase, facts.rules["dose.load_days"]
    if rose is None or (facts.today - rose).days >= wait:
        return None
    ago = (facts.today - rose).days
    day = rose + timedelta(days=wait)
    return day, f"load rose {count_days(ago)} ago; opens in {count_days(wait - ago)}, {words_date(day)}"


# --- one at a time --------------------------------------------------------------------------------------


def one_at_a_time(case: CaseFacts, made: Sequence[tuple[ItemFacts, Proposal]]) -> list[Proposal]:
    """Never load on two items in one session; while tissue heals, never two changes at all.

    The load longest unchanged goes first, then the order of the programme. An increase that no session has
    followed yet counts as today's.
    """
    words = (REPS, LOAD) if guarded(case.view.pathway) else (LOAD,)
    wanting = [pair for pair in made if pair[1].word in words and pair[1].dose is not None]
    taken = next((f for f, _ in made if _unseen_raise(f, words)), None)
    if taken is None and wanting:
        taken = min(wanting, key=lambda pair: pair[0].last_load_increase or date.min)[0]
    waiting = [fact for fact, _ in wanting if fact is not taken] if taken else []
    return [_after(taken, fact, found) if taken and fact in waiting else found for fact, found in made]


def _unseen_raise(facts: ItemFacts, words: Sequence[str]) -> bool:
    """Whether this item went up and nothing has been done at it since."""
    if facts.at_dose or not facts.raised_last:
        return False
    return REPS in words or facts.last_load_increase == facts.set_on.on


def _after(taken: ItemFacts, facts: ItemFacts, found: Proposal) -> Proposal:
    reason = f"one change at a time: {taken.item.exercise} first"
    return replace(found, word=HOLD, dose=facts.current, reason=reason, condition=reason)
