"""What each form of its own says it will write, filled in with the same texts each time."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any, NamedTuple

from textual.pilot import Pilot

from armrise.store.clinic.case.standing import Standing
from armrise.store.database.place import Store
from armrise.tui.forms.decisions.booking import BookingScreen
from armrise.tui.forms.decisions.clearance import ClearanceScreen
from armrise.tui.forms.decisions.decision import DecisionScreen
from armrise.tui.forms.decisions.discharge import DischargeScreen
from armrise.tui.forms.decisions.event import EventScreen
from armrise.tui.forms.decisions.flag_outcome import CLEARED, REFERRED, FlagOutcomeScreen
from armrise.tui.forms.decisions.hold import HoldScreen
from armrise.tui.forms.decisions.inhand import InHandScreen
from armrise.tui.forms.decisions.letter import LetterScreen
from armrise.tui.forms.decisions.orders import OrdersScreen
from armrise.tui.forms.decisions.refer import ReferScreen
from armrise.tui.forms.decisions.reopen import ReopenScreen
from armrise.tui.forms.decisions.step import StepScreen
from armrise.tui.forms.first_visit.screen import FirstVisitScreen
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.kept import put_back
from armrise.tui.forms.measures.screen import MeasuresScreen
from armrise.tui.forms.programme.accept import AcceptScreen
from armrise.tui.forms.programme.dose import DoseScreen
from armrise.tui.forms.programme.small import HomeLoadsScreen, StopItemScreen
from armrise.tui.forms.sweep.forms import SweepPhone, SweepRebook
from armrise.tui.forms.sweep.seen import SweepSeen
from armrise.tui.forms.visit.checkin import CheckInScreen
from armrise.tui.forms.visit.contact import ContactScreen
from armrise.tui.forms.visit.review import ReviewScreen
from armrise.tui.shell.door import Door
from armrise.tui.shell.frame import Frame
from armrise.tui.shell.store_door import StoreDoor
from tests.golden.demo import AUTHOR, NOW, TODAY, Demo

NOTE = "words typed by a clinician"


class Filled(NamedTuple):
    """A form about a case, and the texts of its fields; ``keys`` are pressed first."""

    form: Callable[[Door, Standing], FormScreen]
    code: str
    texts: dict[str, str]
    keys: tuple[str, ...] = ()


REFERRAL = {
    "to": "orthopaedics",
    "urgency": "soon",
    "about": "plateau",
    "letter": "y",
    "told": "y",
    "note": NOTE,
}
PAIN = {"during": "3", "later": "2", "morning": "4", "waking": "1", "new": "n"}
SEEN = {"passive_external_rotation": "40", "active_flexion": "n", "adherence": "5/7", "interval": "21"}
DISCHARGE = {"review": "not needed", "review_reason": NOTE, "outcome": "goal met", "measures": "not obtained"}
REVIEW = {
    "worst": "5",
    "rest": "1",
    "night": "2",
    "range": "40 150",
    "method": "goniometer",
    "adherence": "5",
}
DECIDED = {"medicine": "new analgesic", "now": "no step today", "interval": "21", "next": "+21"}
BEGUN = {
    "onset": "surgery",
    "onset-day": "-30",
    "operation": "cuff repair",
    "orders-day": "-30",
    "tear": "large",
}
LIMITS = {"sling-until": "+12", "rotation-limit": "30", "elevation-limit": "90", "no-resisted": "+60"}
IRRITABLE = {"rest-night": "constant", "end-range": "throughout", "settling": "hours", "level": "high"}

FORMS = (
    Filled(CheckInScreen, "BY-066", PAIN),
    Filled(CheckInScreen, "BY-066", {"day": "-2", "morning": "4"}),
    Filled(CheckInScreen, "BY-018", {"during": "3", "also": "band row R1 3x10"}),
    Filled(ReviewScreen, "BY-066", {**PAIN, **REVIEW, **DECIDED}),
    Filled(FirstVisitScreen, "BY-100", {**REVIEW, **BEGUN, **LIMITS, **IRRITABLE}),
    Filled(FirstVisitScreen, "BY-100", {"onset": "dislocation", "onset-day": "-9", "first-time": "yes"}),
    Filled(MeasuresScreen, "BY-066", {**REVIEW, "active": "150 140 50", "passive": "160 40 . 60"}),
    Filled(ContactScreen, "BY-066", {"outcome": "spoke", "load_cut": "y", "surgeon_told": "y", "note": NOTE}),
    Filled(ContactScreen, "BY-066", {"outcome": "no answer"}),
    Filled(EventScreen, "BY-105", {"event": "dislocation", "combined": "y", "note": NOTE, "restart": "y"}),
    Filled(EventScreen, "BY-066", {"event": "fall"}),
    Filled(HoldScreen, "BY-066", {"reason": "holiday", "until": "+14", "note": NOTE}),
    Filled(HoldScreen, "BY-024", {"reason": "illness", "until": "+5", "named": NOTE}),
    Filled(HoldScreen, "BY-093", {}, ("f4",)),
    Filled(BookingScreen, "BY-066", {"slot": "+7"}),
    Filled(BookingScreen, "BY-048", {"slot": "+30", "slot_reason": NOTE}),
    Filled(ClearanceScreen, "BY-024", {"by": "surgeon", "scope": "resisted", "answer": "yes"}),
    Filled(DecisionScreen, "BY-066", {"about": "plateau", "note": NOTE}),
    Filled(LetterScreen, "BY-066", {"about": "progress", "state": "sent"}),
    Filled(InHandScreen, "BY-066", {"action": NOTE, "until": "+5"}),
    Filled(OrdersScreen, "BY-024", {"tear_size": "large", "poor_tissue": "y", "tendons": NOTE, "text": NOTE}),
    Filled(ReferScreen, "BY-066", REFERRAL),
    Filled(ReferScreen, "BY-012", {"answer": NOTE}),
    Filled(FlagOutcomeScreen, "BY-007", {"doing": CLEARED, "reason": NOTE}),
    Filled(FlagOutcomeScreen, "BY-007", {"doing": REFERRED, "to": "emergency", "urgency": "same day"}),
    Filled(DischargeScreen, "BY-066", {**DISCHARGE, "score": "n", "note": NOTE}),
    Filled(ReopenScreen, "BY-087", {"new_mechanism": "y", "reason": NOTE}),
    Filled(ReopenScreen, "BY-087", {"new_mechanism": "n", "reason": NOTE}),
    Filled(StepScreen, "BY-069", {}),
    Filled(StepScreen, "BY-084", {"category": "patient goal", "reason": NOTE}),
    Filled(partial(StepScreen, direction="stay"), "BY-069", {"category": "patient goal", "reason": NOTE}),
    Filled(partial(StepScreen, direction="back"), "BY-018", {}),
    Filled(partial(StopItemScreen, exercise="band row"), "BY-018", {"reason": NOTE}),
    Filled(partial(DoseScreen, exercise="band row"), "BY-018", {"sets": "4", "spread": "8-12"}),
    Filled(AcceptScreen, "BY-018", {}),
    Filled(HomeLoadsScreen, "BY-066", {"weights": "1, 2.5", "bands": "1, 2"}),
    Filled(SweepPhone, "BY-066", {"outcome": "no answer", "note": NOTE}),
    Filled(SweepRebook, "BY-051", {"slot": "+7"}),
    Filled(SweepSeen, "BY-066", {**PAIN, **SEEN, "exercised": "y"}),
)
"""The same case where nothing of the case matters: one that owes a contact and has no limits."""


def form_files(demo: Demo) -> dict[str, str]:
    """What each form will write, and what is said once it is written."""
    path = demo.folder / "forms.armrise"
    shutil.copy(demo.door.store.path, path)
    door = StoreDoor(Store.open(path), demo.rules, AUTHOR, TODAY, lambda: NOW)
    told = asyncio.run(_told(door, {standing.code: standing for standing in demo.standings}))
    return {"forms.txt": "".join(told)}


async def _told(door: Door, standings: dict[str, Standing]) -> list[str]:
    """Every form in one application, one after the other."""
    async with Frame().run_test(size=(40, 8)) as pilot:
        return [await _one(pilot, filled, filled.form(door, standings[filled.code])) for filled in FORMS]


async def _one(pilot: Pilot[Any], filled: Filled, form: FormScreen) -> str:
    pilot.app.push_screen(form)
    await _settled(pilot)
    put_back(form, filled.texts)
    if filled.keys:
        await pilot.press(*filled.keys)
    await _settled(pilot)
    text = "\n".join(_lines(filled, form))
    await form.dismiss(None)
    return f"{text}\n\n"


async def _settled(pilot: Pilot[Any]) -> None:
    await pilot.pause()
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()


def _lines(filled: Filled, form: FormScreen) -> Iterator[str]:
    stated = ", ".join(f"{name}={text}" for name, text in filled.texts.items())
    yield f"##### {form.head()}   {stated}".rstrip()
    yield from form.lead().splitlines()
    plan = form.plan()
    words = form.to_confirm(plan) or [plan.refused or plan.nothing]
    yield from (f"  {form.verb}: {line}" for line in words)
    yield from (f"  fault: {words}" for words in plan.faults.values())
    yield from (f"  written: {form.door.words(entry)}" for entry in form.entries(plan.drafts))
