"""Raising a dose: sets, repetitions, then load, then another exercise; one at a time, never unsettled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from armrise.store.clinic.dose.climbing import climb_at_top, climb_when_easy, has_climbed
from armrise.store.clinic.dose.done import as_done, done_words, sets_high
from armrise.store.clinic.dose.held import held_back
from armrise.store.clinic.healing.healing import guarded
from armrise.store.clinic.pain.response import Judged
from armrise.store.clinic.programme.facts import SHORT, CaseFacts, ItemFacts
from armrise.store.clinic.programme.parts import (
    Dose,
    amount,
    amount_word,
    is_loaded,
    load_change,
    step_percent,
    target_range,
    with_amount,
)
from armrise.store.clinic.programme.proposal import (
    CHANGE,
    CLIMB,
    LOAD,
    REPS,
    SETS,
    Proposal,
    hold,
    propose,
)
from armrise.store.record.kinds.programme import ISOMETRIC, ProgrammeItem
from armrise.store.record.words import count_days, plain, words_date


def short(facts: ItemFacts) -> Proposal | None:
    """Good, but not the whole dose: finish this one first (practice note 5.2, 7)."""
    last = facts.last_at_dose
    if last is None or last.full != SHORT:
        return None
    reason = f"dose not completed on {words_date(last.on)}: finish this dose first"
    run = facts.good_run(SHORT)
    if len(run) >= facts.rules["dose.short_run"]:
        reason = f"dose not completed {len(run)} times running: the dose may be too long, ask"
    return hold(facts, reason, last.judged)


def on_the_way_up(facts: ItemFacts) -> Proposal:
    """Good and full so far (practice note 5.2, 8-10, rulings 80 and 82): the next rung once this one is easy,
    then sets, then repetitions up to the top of the range, then load."""
    held = held_back(facts.case.view, facts.item.load_class)
    if held:
        return hold(facts, held, *_good(facts))
    climb = climb_when_easy(facts)
    if climb is not None:
        return climb
    now = as_done(facts)
    if now.sets < sets_high(facts):
        return _more_sets(facts, now)
    spread = target_range(now)
    if spread is None:
        words = amount_word(facts.item)
        return hold(facts, f"no range of {words} is set: say one to let it rise", *_good(facts))
    return _more(facts, now, spread[1]) if amount(now) < spread[1] else _heavier(facts, now, spread[0])


def _good(facts: ItemFacts) -> list[Judged]:
    """The good full sessions in a row at this dose, newest first."""
    return [told.judged for told in facts.good_run()]


def _more_sets(facts: ItemFacts, now: ProgrammeItem) -> Proposal:
    """One more set, the repetitions as they are."""
    reason = _after_run(facts, now, "dose.sets_run")
    if isinstance(reason, Proposal):
        return reason
    return propose(facts, SETS, replace(Dose.of(now), sets=now.sets + 1), reason, *_good(facts))


def _more(facts: ItemFacts, now: ProgrammeItem, high: int) -> Proposal:
    """Repetitions, or seconds, by one step and not above the range."""
    reason = _after_run(facts, now, "dose.reps_run")
    if isinstance(reason, Proposal):
        return reason
    step = facts.rules["dose.hold_step" if now.load_class in ISOMETRIC else "dose.reps_step"]
    dose = with_amount(Dose.of(now), now, min(amount(now) + step, high))
    return propose(facts, REPS, dose, reason, *_good(facts))


def _after_run(facts: ItemFacts, now: ProgrammeItem, run: str) -> str | Proposal:
    """Why it may rise once the run named by a figure is long enough; until then the HOLD that counts it."""
    rules, judged = facts.rules, _good(facts)
    needed, mark = rules[run], rules.figures[run].mark
    done = done_words(facts.item, now)
    if len(judged) >= needed:
        return f"{done}{needed} good full sessions in a row{mark}"
    return hold(facts, f"{len(judged)} of {needed} good full sessions in a row at this dose{mark}", *judged)


def _heavier(facts: ItemFacts, now: ProgrammeItem, low: int) -> Proposal:
    """The next load once the run is long enough and the last increase long enough ago."""
    home = facts.case.home
    heavier = home.higher(now) if home.known else None
    needed, step = _needed(facts, now, heavier)
    judged, done = _good(facts), done_words(facts.item, now)
    if len(judged) < needed:
        return hold(facts, f"{len(judged)} of {needed} good full sessions in a row{step}", *judged)
    opens = _opens(facts, now)
    if opens:
        return replace(hold(facts, f"{done}{opens[1]}", *judged), not_before=opens[0])
    reason = f"{done}{len(judged)} good full sessions in a row at the top of the range"
    if heavier is not None:
        found = propose(facts, LOAD, with_amount(heavier, now, low), f"{reason}{step}", *judged)
        return replace(found, evidence=(*found.evidence, home.entry.id)) if home.entry else found
    if is_loaded(now) and not home.known:
        return propose(facts, LOAD, None, f"{reason}: record the weights at home to name the next", *judged)
    return _no_heavier(facts, reason, judged)


def _no_heavier(facts: ItemFacts, reason: str, judged: list[Judged]) -> Proposal:
    """The next rung of a ladder, else another exercise, which the clinician chooses."""
    most = facts.case.home.heaviest
    why = "no heavier load at home" if is_loaded(facts.item) else "no load to raise"
    if is_loaded(facts.item) and most is not None:
        why = f"no heavier load at home within the ordered {plain(most)} kg"
    climb = climb_at_top(facts, f"{reason}, {why}", *judged)
    if climb is not None:
        return climb
    words = f"{reason}, {why}: change range, lever or speed, the clinician decides"
    return propose(facts, CHANGE, facts.current, words, *judged)


def _needed(facts: ItemFacts, now: ProgrammeItem, heavier: Dose | None) -> tuple[int, str]:
    """(sessions needed, the next step in words): fewer for a small step; a band grade is a large one."""
    rules = facts.rules
    if heavier is None:
        return rules["dose.large_run"], ""
    percent = step_percent(now, heavier)
    if percent is None or heavier.load is None:
        return rules["dose.large_run"], f"; next is band {heavier.band}"
    run = "dose.small_run" if percent <= rules["dose.small_step_percent"] else "dose.large_run"
    words = f"; next step {plain(heavier.load)} kg is +{round(percent)} %"
    marks = (rules.figures[key].mark for key in ("dose.small_step_percent", run))
    return rules[run], words + next((mark for mark in marks if mark), "")


def _opens(facts: ItemFacts, now: ProgrammeItem) -> tuple[date, str] | None:
    """(day, words) while the last increase of this load is too recent."""
    rose, wait = _rose(facts, now), facts.rules["dose.load_days"]
    if rose is None or (facts.today - rose).days >= wait:
        return None
    ago = (facts.today - rose).days
    day = rose + timedelta(days=wait)
    return day, f"load rose {count_days(ago)} ago; opens in {count_days(wait - ago)}, {words_date(day)}"


def _rose(facts: ItemFacts, now: ProgrammeItem) -> date | None:
    """The day the load last went up: also by the patient, where more than prescribed is done."""
    if load_change(facts.item, now) > 0:
        return facts.good_run()[facts.rules["dose.done_run"] - 1].on
    return facts.last_load_increase


# --- one at a time --------------------------------------------------------------------------------------


def one_at_a_time(case: CaseFacts, made: Sequence[tuple[ItemFacts, Proposal]]) -> list[Proposal]:
    """One rung, set or load a case and date, the first of the programme; while tissue heals no two changes
    at all. An increase that no session has followed yet counts as today's."""
    words = (CLIMB, SETS, LOAD, REPS) if guarded(case.view.pathway) else (CLIMB, SETS, LOAD)
    wanting = [fact for fact, found in made if found.word in words and found.changes]
    taken = next((fact for fact, _ in made if _unseen_raise(fact, words)), None) or next(iter(wanting), None)
    waiting = [fact for fact in wanting if fact is not taken]
    return [_after(taken, fact, found) if taken and fact in waiting else found for fact, found in made]


def _unseen_raise(facts: ItemFacts, words: Sequence[str]) -> bool:
    """Whether this item went up, or was begun as a higher rung, and nothing has been done at it since."""
    if facts.last_at_dose:
        return False
    if not facts.raised_last:
        return has_climbed(facts)
    before = facts.versions[facts.versions.index(facts.set_on) - 1]
    counted = facts.set_on.sets > before.sets or load_change(before, facts.set_on) > 0
    return REPS in words or counted


def _after(taken: ItemFacts, facts: ItemFacts, found: Proposal) -> Proposal:
    reason = f"one change at a time: {taken.item.exercise} first"
    return replace(hold(facts, reason), evidence=found.evidence, condition=reason)
