"""Faults that only entries together can have: steps, holds, slots, flags, corrections, endings."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise

from armrise.store.entries.build import unknown
from armrise.store.entries.sheet import Placed, Sheet
from armrise.store.entries.summaries import summaries
from armrise.store.record.kinds.care import Appointment, Attendance, Contact, Visit
from armrise.store.record.kinds.pain import Morning, PeriodSummary, Session
from armrise.store.record.kinds.paperwork import Correction, Decision, Discharge, Letter, Referral, Reopen
from armrise.store.record.kinds.plan import Hold, InHand, Orders, Step
from armrise.store.record.kinds.safety import NOT_NAMED, Event, FlagOutcome, Onset, Screen
from armrise.store.record.words import count_days
from armrise.store.rules.pathway import Pathway

AFTER_DEATH = (Contact, Letter, FlagOutcome, Correction, Decision, Attendance)
"""What may still be written after a person has died: no clinical observation, no reopening."""

AFTER_DISCHARGE = (*AFTER_DEATH, Session, Morning, PeriodSummary, Reopen, Referral, Screen, Event)
"""A closed case still takes messages, observations sent in, and its paperwork (practice note 4.13, 26)."""


def steps(sheet: Sheet) -> None:
    """The first step places; later ones go one stage forward or back, or place into another pathway."""
    previous: Step | None = None
    for placed, step in sheet.of(Step):
        pathway = sheet.pathway_of(step.stage)
        if (step.override_category is None) != (step.override_reason is None):
            sheet.fault(placed, "override_reason", "an override needs both a category and a reason")
        if pathway is None:
            stages = tuple(s.code for p in sheet.rules.pathways.values() for s in p.stages)
            sheet.fault(placed, "stage", unknown("stage of the rule files", step.stage, stages))
            continue
        message = _direction(sheet, previous, step, pathway)
        if message:
            sheet.fault(placed, "direction", message)
        elif previous and step.direction == previous.direction == "forward" and step.on == previous.on:
            say = f"a second forward step on {step.on} needs an override with its reason"
            if step.override_reason is None:
                sheet.fault(placed, "direction", say)
        previous = step


def _direction(sheet: Sheet, previous: Step | None, step: Step, pathway: Pathway) -> str | None:
    said, placing = f'"{step.direction}"', step.direction == "placing"
    if previous is None:
        return None if placing else f'{said} without a stage, the first is "placing"'
    same = pathway.index(previous.stage) >= 0
    if placing:
        # A reopening or a new onset lets a case be placed anew in its own pathway.
        begun = (e.on for _, e in [*sheet.of(Reopen), *sheet.of(Onset)])
        if not same or any(previous.on < on <= step.on for on in begun):
            return None
        return f'{said} into {step.stage} from {previous.stage}, inside a pathway go "forward" or "back"'
    if not same:
        return f'{said} from {previous.stage} leaves the pathway, into another one it is "placing"'
    by = pathway.index(step.stage) - pathway.index(previous.stage)
    if by == (1 if step.direction == "forward" else -1):
        return None
    return f"{said} from {previous.stage} to {step.stage} is not one stage {step.direction}"


def holds(sheet: Sheet) -> None:
    """A hold ends, is short enough, and never hides an open red flag or an unattended repair."""
    most = sheet.rules["hold.most_days"]
    for placed, hold in sheet.of(Hold):
        if hold.until < hold.on:
            sheet.fault(placed, "until", f"{hold.until} is before the hold begins on {hold.on}")
        elif (hold.until - hold.on).days > most:
            latest = hold.on + timedelta(days=most)
            say = f"{hold.until} is {(hold.until - hold.on).days} days on, allowed is {latest} ({most} days)"
            sheet.fault(placed, "until", say)
        if hold.until <= hold.on:
            continue
        stage = sheet.stage_on(hold.on)
        if stage and stage.protected and not hold.named:
            where = f"a hold in the protected stage {stage.code}"
            sheet.fault(placed, "named", f"is missing, {where} needs the surgeon or lead who agreed")
        _no_open_flag(sheet, placed, "reason", "hold")


def _no_open_flag(sheet: Sheet, placed: Placed, name: str, what: str) -> None:
    for flag in sheet.open_flags(placed.entry.on):
        sheet.fault(placed, name, f'no {what} while the red flag "{flag.item}" of {flag.on} is open')


def in_hands(sheet: Sheet) -> None:
    """An answer to a reason names a reason there is, until a date near enough to be remembered."""
    ranks = {rank.name: rank for rank in sheet.rules.ranks.values()}
    for placed, answer in sheet.of(InHand):
        rank = ranks.get(answer.reason)
        if rank is None:
            sheet.fault(placed, "reason", unknown("reason of the list", answer.reason, tuple(ranks)))
            continue
        most = sheet.rules.in_hand_days(rank)
        latest = answer.on + timedelta(days=most)
        if not answer.on <= answer.until <= latest:
            say = f'{answer.until} is not allowed for "{rank.name}", allowed is {answer.on} to {latest}'
            sheet.fault(placed, "until", f"{say} ({count_days(most)})")


def attendances(sheet: Sheet) -> None:
    """What became of a slot: one that was booked, and not before it took place."""
    slots = [entry for _, entry in sheet.of(Appointment)]
    for placed, outcome in sheet.of(Attendance):
        if not any(s.booked_for == outcome.booked_for and s.on <= outcome.on for s in slots):
            say = f"{outcome.booked_for} was never booked, an appointment for that date has to come before"
            sheet.fault(placed, "booked_for", say)
        elif outcome.booked_for > outcome.on and not outcome.outcome.startswith("cancelled"):
            slot_words = f"a slot on {outcome.booked_for} that had not come yet"
            sheet.fault(placed, "outcome", f'"{outcome.outcome}" on {outcome.on} of {slot_words}')
    for placed, slot in sheet.of(Appointment):
        if slot.booked_for < slot.on:
            sheet.fault(placed, "booked_for", f"{slot.booked_for} is before it was booked on {slot.on}")


def flag_outcomes(sheet: Sheet) -> None:
    """An outcome answers a flag that was raised."""
    screens = [*(e for _, e in sheet.of(Screen)), *(e for e in sheet.linked if isinstance(e, Screen))]
    told = [*(e for _, e in sheet.of(Visit)), *(e for _, e in sheet.of(Contact))]
    for placed, outcome in sheet.of(FlagOutcome):
        raised = {s.item for s in screens if s.answer == "yes" and s.on <= outcome.on}
        if any(new.anything_new == "yes" and new.on <= outcome.on for new in told):
            raised.add(NOT_NAMED)
        if not raised or outcome.item not in (*raised, "all"):
            what = "no item" if outcome.item == "all" else f'"{outcome.item}"'
            never = "was" if outcome.item == "all" else "was never"
            sheet.fault(placed, "item", f"{what} {never} answered yes by {outcome.on}, so no flag is open")


def endings(sheet: Sheet) -> None:
    """An episode ends once, with no red flag open, and takes little afterwards until it is reopened."""
    closed: Discharge | None = None
    for placed in sheet.valid:
        entry = placed.entry
        if isinstance(entry, Discharge):
            if closed is not None:
                sheet.fault(placed, "outcome", f"the case was already discharged on {closed.on}")
            # Who has died is closed at once, whatever is open: all prompts stop (practice note 4.13, 27).
            if entry.outcome != "died":
                _no_open_flag(sheet, placed, "outcome", "discharge")
            closed = entry
        elif closed is None:
            if isinstance(entry, Reopen):
                sheet.fault(placed, "on", "the case is not closed, so it cannot be reopened")
        elif isinstance(entry, Reopen) and closed.outcome != "died":
            closed = None
        elif entry.on > closed.on and not entry.history:
            died = closed.outcome == "died"
            kinds = AFTER_DEATH if died else AFTER_DISCHARGE
            if not isinstance(entry, kinds):
                after = f"is after {'the death recorded' if died else 'the discharge'} on {closed.on}"
                allowed = ", ".join(kind.KIND for kind in kinds)
                sheet.fault(placed, "on", f"{entry.on} {after}, allowed then is only {allowed}")


def corrections(sheet: Sheet) -> None:
    """A correction withdraws one entry of its own case, once."""
    refs = {placed.place.ref: placed for placed in sheet.every}
    stands = {placed.place.ref for placed in sheet.valid}
    seen: dict[int, str] = {}
    for placed in sheet.every:
        entry = placed.entry
        if not isinstance(entry, Correction):
            continue
        if entry.corrects not in refs:
            sheet.fault(placed, "corrects", f"{entry.corrects} is no entry of this case")
        elif refs[entry.corrects] is placed:
            sheet.fault(placed, "corrects", "a correction cannot withdraw itself")
        elif entry.corrects in seen and placed.place.ref in stands:
            say = f"{refs[entry.corrects].place.name} is already corrected by {seen[entry.corrects]}"
            sheet.fault(placed, "corrects", say)
        if placed.place.ref in stands:  # an undone correction leaves room for another
            seen.setdefault(entry.corrects, placed.place.name)
        by = entry.replaced_by
        if by is not None and by not in refs:
            sheet.fault(placed, "replaced_by", f"{by} is no entry of this case")
        elif by is not None and (refs[by] is placed or by == entry.corrects):
            sheet.fault(
                placed, "replaced_by", "the replacement has to be another entry than what it replaces"
            )


def orders(sheet: Sheet) -> None:
    """The stages of written orders open in their order."""
    for placed, order in sheet.of(Orders):
        given = [(number, order.stage_from(number)) for number in range(2, 6)]
        stated = [(number, on) for number, on in given if on is not None]
        for (lower, before), (higher, after) in pairwise(stated):
            if after < before:
                say = f"{after} is before stage{lower}_from {before}, a later stage cannot open first"
                sheet.fault(placed, f"stage{higher}_from", say)


CHECKS: tuple[tuple[Callable[[Sheet], None], frozenset[str]], ...] = (
    (steps, frozenset({"step", "reopening", "onset"})),
    (holds, frozenset({"hold", "step", "screen", "flag outcome"})),
    (in_hands, frozenset()),
    (attendances, frozenset({"appointment"})),
    (summaries, frozenset()),
    (flag_outcomes, frozenset({"screen", "visit", "contact"})),
    (endings, frozenset({"discharge", "reopening", "screen", "flag outcome"})),
    (corrections, frozenset()),
    (orders, frozenset()),
)
"""Each check with the kinds of entry it rests on beside those it judges."""
