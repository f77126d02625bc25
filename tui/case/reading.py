"""What the case screen reads of the whole record: what is new since a look, what to say and to mind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from armrise.store.record.light import NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

    from armrise.store.clinic.case.standing import CriterionResult, Standing
    from armrise.store.clinic.case.view import View
    from armrise.store.clinic.verdict.pace import Projection
    from armrise.store.record.case import CaseRecord
    from armrise.tui.shell.door import Door
    from armrise.tui.shell.store_door import StoreDoor

AS_KNOWN = "this is an earlier view: w says what is known since"


class CaseReading(NamedTuple):
    """Beyond the standing: one line of what changed, sentences for the patient, precautions.

    ``paces`` are the projections of criteria not met yet; ``own_past_cases`` how long others took, in words;
    ``messages`` what the patient wrote and nobody has answered, oldest first; ``limit`` the most pain allowed
    on the next morning, None where no baseline is known; ``behind`` what each criterion was judged by.
    """

    changed: str
    say: tuple[str, ...]
    precautions: tuple[str, ...]
    paces: Mapping[CriterionResult, Projection] = {}
    own_past_cases: str = ""
    messages: tuple[str, ...] = ()
    limit: int | None = None
    behind: Mapping[CriterionResult, tuple[str, ...]] = {}


def read(door: Door | None, code: str) -> CaseReading | None:
    """Read the record of a case through ``door``; None where there is no store behind it.

    Raises a store error in one sentence.
    """
    from armrise.tui.shell.store_door import StoreDoor

    if not isinstance(door, StoreDoor):
        return None
    from armrise.store.clinic.case.view import View
    from armrise.store.clinic.healing.limits import morning_limit, precautions
    from armrise.store.clinic.series.behind import behind
    from armrise.store.clinic.standing.stand import stand_view
    from armrise.store.clinic.verdict.messages import unanswered
    from armrise.store.clinic.verdict.pace import paces
    from armrise.store.record.phrase import dated

    record = door.record(code)
    view = View.of(record, door.rules, door.today)
    now = stand_view(view)
    waiting = tuple(dated(entry, door.rules, year=view.today.year) for entry in unanswered(view))
    return CaseReading(
        _changed(door, code, record, now),
        _to_say(view),
        precautions(view),
        paces(view),
        door.own_past_cases(record),
        waiting,
        morning_limit(view),
        {
            result: tuple(dated(entry, door.rules, year=view.today.year) for entry in entries)
            for result, entries in behind(view, now).items()
        },
    )


def _to_say(view: View) -> tuple[str, ...]:
    """What to say to the patient; where the clinic's own words are refused, why."""
    from armrise.store.clinic.advice.today import say_to_patient
    from armrise.store.rules.words.patient import WordsError

    try:
        return say_to_patient(view)
    except WordsError as fault:
        return (str(fault),)


def _changed(door: StoreDoor, code: str, record: CaseRecord, now: Standing) -> str:
    from armrise.store.clinic.standing.changed import NEVER, entries_between, what_changed
    from armrise.store.clinic.standing.stand import stand
    from armrise.tui.earlier.replay import ReplayDoor

    if isinstance(door, ReplayDoor):
        return AS_KNOWN
    seen = door.last_look(code)
    if seen is None:
        return NEVER
    before = door.record(code, known_at=seen)
    came, withdrawn = entries_between(before, record)
    then = stand(before, door.rules, min(door.day_of(seen), door.today))
    return what_changed(then, now, came, seen, withdrawn)


def note_look(door: Door | None, code: str) -> None:
    """Note that the case was looked at; a store that cannot be written to now, or is being, goes without."""
    from armrise.store.database.place import StoreError
    from armrise.tui.shell.store_door import StoreDoor

    if not isinstance(door, StoreDoor) or door.cannot_write:
        return
    try:
        door.looked(code)
    except StoreError:
        return  # a look is no record: it must neither hold up the clinician nor be told
