"""What the entries of one case may not say: each by itself against dates and ranges, then together."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal

from armrise.store.entries import across
from armrise.store.entries.build import unknown
from armrise.store.entries.ranges import Range, measure_range, score_range
from armrise.store.entries.sheet import Place, Placed, Sheet, lay_out
from armrise.store.entries.words import CaseHead, Fault
from armrise.store.record.kinds.care import Contact
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.measured import STRENGTHS, Finding, Measure, Score, Target
from armrise.store.record.kinds.pain import Session
from armrise.store.record.kinds.plan import Orders
from armrise.store.record.kinds.programme import DoneItem, ProgrammeItem
from armrise.store.record.kinds.safety import Onset, Screen
from armrise.store.rules.pathway import Rules

BEFORE_THE_EPISODE = (Onset, Orders)
"""Kinds that may be dated before the episode without being marked as history."""

FROM_THE_LETTER = (Screen, Finding)
"""Kinds that may precede the episode when their source is the referral letter."""

WHOLE_MEASURES = ("worst_pain", "rest_pain", "night_pain", "night_waking", "hand_behind_back")
"""Ratings, nights and levels are counted, never measured between two values (practice note, ruling 31)."""

WHOLE_SCORES = ("NRS", "GROC")
OXFORD = ("OSS", "OSIS")


def check_case(
    head: CaseHead,
    entries: Sequence[Entry],
    *,
    today: date,
    rules: Rules,
    places: Sequence[Place] | None = None,
    linked: Iterable[Entry] = (),
    broken: Collection[str] = (),
) -> list[Fault]:
    """Every fault of a case on the clinic date ``today``, in the order of its entries.

    Dates and ranges are checked entry by entry; steps, holds, slots, flags, corrections and the end of the
    episode against the other entries. ``places`` names the entries in faults and gives the number by which a
    correction points at one (by default the stored id, else the position from 1). ``linked`` are the screens
    and flag outcomes of the person's other case. ``broken`` are kinds of which an entry was already refused:
    what rests on them is not judged, so that one fault is not reported as three.
    """
    sheet = lay_out(head, entries, today, rules, places, linked)
    if head.pathway not in rules.pathways:
        known = tuple(rules.pathways)
        sheet.fault(None, "pathway", unknown("pathway of the rule files", head.pathway, known))
    if head.registered_on > today:
        sheet.fault(None, "registered", f"{head.registered_on} is after the clinic date {today}")
    start = None if {"onset", "visit", "step"} & set(broken) else sheet.start()
    valid = {placed.place.ref for placed in sheet.valid}
    for placed in sheet.every:
        # What was withdrawn may lie before an episode whose beginning was withdrawn with it.
        _dates(sheet, placed, start if placed.place.ref in valid else None)
    for placed in sheet.valid:
        _ranges(sheet, placed)
    for check, rests_on in across.CHECKS:
        if not rests_on & set(broken):
            check(sheet)
    order = {placed.place.name: number for number, placed in enumerate(sheet.every)}
    return sorted(sheet.faults, key=lambda fault: order.get(fault.entry, -1))


def _dates(sheet: Sheet, placed: Placed, start: date | None) -> None:
    entry, today = placed.entry, sheet.today
    if entry.on > today:
        sheet.fault(placed, "on", ahead(entry.on, today))
        return
    morning_told = isinstance(entry, Session) and type(entry.morning) is int
    earliest = entry.on + timedelta(days=1) if morning_told else entry.on
    if earliest > today:
        sheet.fault(placed, "morning", f"the next morning, {earliest}, is after the clinic date {today}")
    elif entry.recorded_on > today:
        sheet.fault(placed, "recorded", f"{entry.recorded_on} is after the clinic date {today}")
    elif entry.recorded_on < earliest:
        sheet.fault(placed, "recorded", f"{entry.recorded_on} is before it could be known, on {earliest}")
    from_the_letter = isinstance(entry, FROM_THE_LETTER) and entry.source == "referral letter"
    may_precede = entry.history or from_the_letter or isinstance(entry, BEFORE_THE_EPISODE)
    if start and entry.on < start and not may_precede:
        say = f"{entry.on} is before the episode began on {start}, allowed only with history true"
        sheet.fault(placed, "on", say)


def ahead(on: date, today: date) -> str:
    """The message for a date after the clinic date."""
    return f"{on} is after the clinic date {today}, what happened cannot lie ahead"


def _ranges(sheet: Sheet, placed: Placed) -> None:
    entry = placed.entry
    if isinstance(entry, Session):
        for number, item in enumerate(entry.items, 1):
            _way(sheet, placed, item, f"items {number} ")
    elif isinstance(entry, Measure):
        _measure(sheet, placed, entry)
    elif isinstance(entry, Score):
        _score(sheet, placed, entry)
    elif isinstance(entry, Target):
        _within(sheet, placed, "value", entry.value, measure_range(sheet.rules, entry.measure, None))
    elif isinstance(entry, Screen) and entry.item == "all" and entry.answer == "yes":
        say = '"yes" needs the item it is about, allowed for "all" is any other answer'
        sheet.fault(placed, "answer", say)
    elif isinstance(entry, Contact) and entry.anything_new == "no" and not entry.spoken:
        say = f'"no" beside the outcome "{entry.outcome}", allowed where somebody was asked'
        sheet.fault(placed, "anything_new", say)
    elif isinstance(entry, ProgrammeItem):
        _programme(sheet, placed, entry)


def _programme(sheet: Sheet, placed: Placed, entry: ProgrammeItem) -> None:
    low, high = entry.reps_low, entry.reps_high
    if low and high and low > high:
        sheet.fault(placed, "reps_low", f"{low} is above reps_high {high}")
    if entry.sets_high is not None and entry.sets_high < entry.sets:
        sheet.fault(placed, "sets_high", f"{entry.sets_high} is below sets {entry.sets}")
    _way(sheet, placed, entry, "")


def _way(sheet: Sheet, placed: Placed, item: ProgrammeItem | DoneItem, path: str) -> None:
    """The longer of two times is the longer one, and an arc goes up."""
    low, high = item.lower_s, item.lower_s_high
    if high is not None and low is None:
        sheet.fault(placed, f"{path}lower_s", f"is missing beside lower_s_high {high}")
    elif high is not None and low is not None and high < low:
        sheet.fault(placed, f"{path}lower_s_high", f"{high} is below lower_s {low}")
    start, end = item.arc_from, item.arc_to
    if start is not None and end is not None and start >= end:
        sheet.fault(placed, f"{path}arc_from", f"{start} is not below arc_to {end}")


def _measure(sheet: Sheet, placed: Placed, entry: Measure) -> None:
    strength = entry.name in STRENGTHS
    if entry.unit is not None and not strength:
        sheet.fault(placed, "unit", f'"{entry.unit}" is for strength only, {entry.name} has its own unit')
        return
    if not isinstance(entry.value, Decimal):
        return
    if entry.name in WHOLE_MEASURES and entry.value != entry.value.to_integral_value():
        sheet.fault(placed, "value", f"{entry.value} is no whole number, which {entry.name} has to be")
        return
    _within(sheet, placed, "value", entry.value, measure_range(sheet.rules, entry.name, entry.unit))


def _score(sheet: Sheet, placed: Placed, entry: Score) -> None:
    oxford = entry.instrument in OXFORD
    if entry.formula and ("-" in entry.formula) != oxford:
        say = "is for the Oxford scores only" if not oxford else "is no formula of the Oxford scores"
        sheet.fault(placed, "formula", f'"{entry.formula}" {say}, found beside {entry.instrument}')
        return
    if not isinstance(entry.total, Decimal):
        return
    whole = entry.instrument in WHOLE_SCORES and len(entry.items) < 2  # a mean of three ratings need not be
    if whole and entry.total != entry.total.to_integral_value():
        sheet.fault(placed, "total", f"{entry.total} is no whole number, which {entry.instrument} has to be")
        return
    own = score_range(sheet.rules, entry.instrument, entry.formula)
    _within(sheet, placed, "total", entry.total, own)


def _within(sheet: Sheet, placed: Placed, name: str, value: Decimal, found: Range | None) -> None:
    if found and not found.low <= value <= found.high:
        sheet.fault(placed, name, found.refusal(str(value)))
