"""The one question in the forms, and what a message asks for first (rulings 71, 84 and 95), by their keys."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from armrise.store.record.kinds.care import Contact, Visit
from armrise.store.record.kinds.plan import Step
from armrise.store.record.kinds.safety import Event, Screen
from armrise.tui.forms.decisions.inhand import InHandScreen
from armrise.tui.forms.decisions.step import StepScreen
from armrise.tui.forms.red_flags.news import AnythingNew
from armrise.tui.forms.red_flags.rows import FlagRow
from armrise.tui.forms.red_flags.screen import RedFlagScreen
from armrise.tui.forms.visit.contact import ContactScreen
from armrise.tui.forms.visit.review import ReviewScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import new_entries, newest, of_kind, painted, press, type_in, until

WOUND = "wound discharge or fever after surgery"
HOT = "hot or swollen joint, or unwell"
CONTACT = ("s", *("enter",) * 5)
"""Spoke, nothing agreed, no note, today: the question comes next."""


def write(door: Door, code: str, kind: str, **values: Any) -> None:
    """An entry of before the form is opened."""
    door.append(code, [door.draft(kind, **values)])


def message(door: Door, code: str, note: str) -> None:
    """A message received today."""
    write(door, code, "contact", outcome="message received", note=note)


def form(of: type, door: Door, code: str, **more: Any) -> FormApp:
    """A form on one case."""
    return FormApp(of(door, door.standing(code), **more))


# --- the contact form ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("typed", "told"), [((), "not asked"), (("n",), "no")])
async def test_84_the_contact_form_asks_the_one_question(
    door: Door, typed: tuple[str, ...], told: str
) -> None:
    before = newest(door)
    async with form(ContactScreen, door, "BY-018").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *CONTACT, *typed, "f2")
    (stored,) = of_kind(new_entries(door, "BY-018", before), Contact)
    assert (stored.outcome, stored.anything_new) == ("spoke", told)


async def test_71_a_yes_is_named_on_the_list_and_written_with_the_contact(door: Door) -> None:
    before = newest(door)
    async with form(ContactScreen, door, "BY-018").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *CONTACT, "y")
        assert isinstance(pilot.app.screen, RedFlagScreen)
        await press(pilot, "y", "f2", "f2")
    stored = new_entries(door, "BY-018", before)
    assert [c.anything_new for c in of_kind(stored, Contact)] == ["yes"]
    assert [(s.item, s.answer) for s in of_kind(stored, Screen)] == [
        ("hot or swollen joint, or unwell", "yes")
    ]
    red = next(r for r in door.standing("BY-018").reasons if r.code == "RED")
    assert "hot or swollen joint" in red.sentence
    assert "not named" not in red.sentence


async def test_71_a_yes_that_nobody_names_is_a_flag_of_its_own(door: Door) -> None:
    async with form(ContactScreen, door, "BY-018").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *CONTACT, "y", "f2")
        shown = " ".join(painted(pilot).split())
        assert "not named yet: a possible red flag until it is" in shown
        assert "then new: possible red flag: something new told, not named" in shown
        await press(pilot, "f2")
    red = next(r for r in door.standing("BY-018").reasons if r.code == "RED")
    assert (red.severity, red.sentence) == (2, "something new told, not named, reported today: urgent")


async def test_71_leaving_the_list_answers_nothing(door: Door) -> None:
    before = newest(door)
    async with form(ContactScreen, door, "BY-018").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *CONTACT, "y", "escape")
        assert "nothing new is recorded" in painted(pilot)
        await press(pilot, "f2")
    assert [c.anything_new for c in of_kind(new_entries(door, "BY-018", before), Contact)] == ["not asked"]


async def test_84_an_attempt_asks_no_question(door: Door) -> None:
    before = newest(door)
    async with form(ContactScreen, door, "BY-018").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n")
        assert "anything new?" not in painted(pilot)
        await press(pilot, "f2")
    assert [c.anything_new for c in of_kind(new_entries(door, "BY-018", before), Contact)] == ["not asked"]


async def test_84_the_item_of_a_word_is_asked_first_and_answered_by_nobody_yet(door: Door) -> None:
    message(door, "BY-024", "the wound is leaking")
    before = newest(door)
    async with form(ContactScreen, door, "BY-024").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await until(lambda: WOUND in painted(pilot))
        shown = painted(pilot)
        assert "contact on Mon 2 Mar: message received; the wound is leaking" in shown
        assert "The message says 'leaking'. Ask first:" in shown
        assert shown.index(WOUND) < shown.index("outcome")
        assert [row.value for row in pilot.app.screen.query(FlagRow)] == [""]
        await press(pilot, "n", "s", "f2")
    stored = new_entries(door, "BY-024", before)
    assert [(s.item, s.answer) for s in of_kind(stored, Screen)] == [(WOUND, "no")]
    assert not [r for r in door.standing("BY-024").reasons if r.code == "MSU"]


async def test_84_an_item_left_open_is_not_asked(door: Door) -> None:
    message(door, "BY-024", "the wound is leaking")
    before = newest(door)
    async with form(ContactScreen, door, "BY-024").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "a")
        assert "one item alone is asked here" in painted(pilot)
        await press(pilot, "backspace", "down", "s", "f2")
    assert of_kind(new_entries(door, "BY-024", before), Screen) == []


async def test_84_a_digit_is_no_answer_of_the_item_asked_first(door: Door) -> None:
    """A hand that begins with a digit must not say "yes, soon" of a wound that leaks."""
    message(door, "BY-024", "the wound is leaking")
    before = newest(door)
    async with form(ContactScreen, door, "BY-024").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "1")
        assert '"1" is no answer of this item: y, n or d.' in painted(pilot)
        await press(pilot, "y", "s", "f2")
    stored = new_entries(door, "BY-024", before)
    assert [(s.item, s.answer, s.severity) for s in of_kind(stored, Screen)] == [(WOUND, "yes", None)]


async def test_84_a_word_that_asks_for_an_event(door: Door) -> None:
    message(door, "BY-069", "I fell off the bike")
    before = newest(door)
    async with form(ContactScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "what happened?" in painted(pilot)
        await press(pilot, "1", "s", "f2")
    stored = new_entries(door, "BY-069", before)
    assert [e.event for e in of_kind(stored, Event)] == ["fall"]


async def test_84_a_message_taken_down_says_what_it_makes_of_the_case(door: Door) -> None:
    async with form(ContactScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "r", "n")
        await type_in(pilot, "arm is numb")
        shown = " ".join(painted(pilot).split())
        assert "urgent message: 'numb' (motor or sensory loss), today, not answered" in shown


# --- the review, the list -----------------------------------------------------------------------------------


async def test_71_the_review_begins_with_the_one_question_and_no_needs_one_key(door: Door) -> None:
    before = newest(door)
    async with form(ReviewScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(pilot.app.focused, AnythingNew)
        await press(pilot, "n", "pagedown", "pagedown", "1", "f2")
    assert [v.anything_new for v in of_kind(new_entries(door, "BY-069", before), Visit)] == ["no"]


async def test_84_the_list_shows_the_item_of_a_message_first(door: Door) -> None:
    message(door, "BY-069", "my calf is thick")
    async with form(ReviewScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y")
        first = pilot.app.screen.query(FlagRow).first()
        assert (first.label, first.value) == ("calf or arm swelling after surgery or immobilisation", "")


async def test_85_the_item_of_a_child_is_asked_of_no_grown_person(door: Door) -> None:
    async with form(ReviewScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y")
        assert not [row for row in pilot.app.screen.query(FlagRow) if row.label.startswith("child")]


# --- the step form ------------------------------------------------------------------------------------------


async def test_95_the_step_form_asks_the_question_that_nobody_asked_today(door: Door) -> None:
    before = newest(door)
    async with form(StepScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(pilot.app.focused, AnythingNew)
        await press(pilot, "n")
        assert "contact on Mon 2 Mar: spoke, nothing new" in painted(pilot)
        await press(pilot, "y")
    stored = new_entries(door, "BY-069", before)
    assert [c.anything_new for c in of_kind(stored, Contact)] == ["no"]
    assert [(s.stage, s.verdict) for s in of_kind(stored, Step)] == [("RC3", "READY")]


async def test_95_and_not_where_somebody_did(door: Door) -> None:
    write(door, "BY-069", "contact", outcome="spoke", anything_new="no")
    async with form(StepScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "anything new?" not in painted(pilot)


async def test_95_and_not_while_a_message_waits(door: Door) -> None:
    """The answer would be a contact, and the message would count as answered though nobody read it."""
    message(door, "BY-069", "can I swim?")
    async with form(StepScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "anything new?" not in painted(pilot)


async def test_95_a_yes_makes_the_code_be_typed(door: Door) -> None:
    async with form(StepScreen, door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y", "f2")
        shown = painted(pilot)
        assert "REFER: urgent: possible red flag, something new told, not named" in shown
        assert "A possible red flag is open." in shown


# --- in hand ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("typed", "stored"), [("", True), ("+1", True), ("+2", False)])
async def test_84_an_urgent_message_is_in_hand_for_a_day(door: Door, typed: str, stored: bool) -> None:
    """BY-096: its message of today."""
    before = newest(door)
    async with form(InHandScreen, door, "BY-096").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, "ring at ten")
        if typed:
            await press(pilot, "enter", "backspace", "backspace")
            await type_in(pilot, typed)
        await press(pilot, "f2")
    assert bool(new_entries(door, "BY-096", before)) is stored
    if stored:
        urgent = next(r for r in door.standing("BY-096").reasons if r.code == "MSU")
        assert urgent.in_hand_until == date(2026, 3, 3)
