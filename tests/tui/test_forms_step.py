"""Steps, staying and undo by their keys.

Expected behaviour: sections 4.8, 4.10, 4.11 and 4.13 of the clinic's practice notes.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from armrise.store.caseload.write import Ledger
from armrise.store.record.kinds.head import CODE_LONGEST
from armrise.store.record.kinds.plan import Override, Step
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.tui.board.closed import ClosedScreen
from armrise.tui.forms.decisions.step import StepScreen
from armrise.tui.forms.decisions.undo import UndoScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FakeDoor, FormApp
from tests.tui.form_store import NOW, new_entries, newest, painted, press, type_in

REASON = "patient wants to row again"


def step(door: Door, code: str, direction: str = "forward") -> FormApp:
    return FormApp(StepScreen(door, door.standing(code), direction=direction))


async def test_a_ready_case_steps_forward_on_confirmation(door: Door) -> None:
    before = newest(door)
    app = step(door, "BY-069")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert "READY" in shown
        assert "stepped forward to RC3 on Mon 2 Mar; the verdict was READY" in shown
        assert "NOT SIGNED OFF" in shown
        assert "RC2 Base load -> RC3 Build, by TK" in shown
        assert new_entries(door, "BY-069", before) == []
        await press(pilot, "down", "y")
    (stored,) = new_entries(door, "BY-069", before)
    assert isinstance(stored, Step)
    assert (stored.stage, stored.direction, stored.verdict) == ("RC3", "forward", "READY")
    assert stored.rules == door.rules.stamp
    assert (stored.override_category, stored.override_reason) == (None, None)
    after = door.standing("BY-069")
    assert (after.stage, after.days_in_stage) == ("RC3", 0)


async def test_every_criterion_is_shown_with_what_was_seen(door: Door) -> None:
    standing = door.standing("BY-069")
    async with step(door, "BY-069").run_test(size=(120, 60)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        for criterion in standing.verdict.criteria:
            assert criterion.text in shown
            assert criterion.observed.split(";")[0] in shown


async def test_forward_on_not_yet_needs_a_category_and_a_reason(door: Door) -> None:
    before = newest(door)
    async with step(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f2")
        assert "category: choose 1 to 5" in painted(pilot)
        await press(pilot, "1")
        await type_in(pilot, "too short")
        await press(pilot, "f2")
        assert "reason: at least 10 characters, 9 typed" in painted(pilot)
        assert new_entries(door, "BY-084", before) == []
        await type_in(pilot, " now")
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, Step)
    assert (stored.stage, stored.verdict) == ("RC4", "NOT YET")
    assert (stored.override_category, stored.override_reason) == ("patient goal", "too short now")


async def test_past_a_healing_gate_the_code_has_to_be_typed(door: Door) -> None:
    before = newest(door)
    async with step(door, "BY-024").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "HEALING: PO3 opens on Fri 13 Mar 2026" in painted(pilot)
        await press(pilot, "down", "3")
        await type_in(pilot, "surgeon asked by phone")
        await press(pilot, "f2")
        assert "code: type BY-024 to go past this" in painted(pilot)
        await type_in(pilot, "BY-042")
        await press(pilot, "f2")
        assert new_entries(door, "BY-024", before) == []
        await press(pilot, *["backspace"] * 6)
        await type_in(pilot, "by-024")
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-024", before)
    assert isinstance(stored, Step)
    assert (stored.stage, stored.override_category) == ("PO3", "surgeon's instruction")


LONG = ["KNEE.AND-SHOULDER-000117", "Knee.and-shoulder-000117"]
"""Codes as long as one may be; two that differ in nothing but capitals are typed the same."""


@pytest.mark.parametrize("code", LONG)
async def test_the_longest_code_can_be_typed_whole(door: Door, code: str) -> None:
    assert len(code) == CODE_LONGEST
    named = door.standing("BY-024")._replace(code=code)
    fake = FakeDoor(replace(door.record("BY-024"), code=code), named)
    async with FormApp(StepScreen(fake, named, direction="forward")).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "3")
        await type_in(pilot, "surgeon asked by phone")
        await press(pilot, "f2")
        assert f"code: type {code} to go past this" in painted(pilot)
        await type_in(pilot, code[:-1])
        await press(pilot, "f2")
        assert fake.written == []
        await type_in(pilot, code[-1])
        await press(pilot, "f2")
    assert [type(entry) for entry in fake.written] == [Step]


@pytest.mark.parametrize("code", LONG)
async def test_a_closed_case_of_the_longest_code_is_found(
    door: Door, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    closed = [(code[:-1], "closed last week"), (code, "closed yesterday")]
    monkeypatch.setattr(door, "closed", lambda: closed)
    app = FormApp(ClosedScreen(door))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await type_in(pilot, code)
        assert code in painted(pilot)
        await press(pilot, "enter")
    assert app.result == code


@pytest.mark.parametrize(("code", "past_the_question"), [("BY-007", ()), ("BY-012", ("down",))])
async def test_with_a_possible_red_flag_the_code_has_to_be_typed(
    door: Door, code: str, past_the_question: tuple[str, ...]
) -> None:
    """Open, and open though in hand; while the message of BY-007 waits, the one question is not asked."""
    before = newest(door)
    async with step(door, code).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "A possible red flag is open." in painted(pilot)
        await press(pilot, *past_the_question, "2")
        await type_in(pilot, REASON)
        await press(pilot, "f2")
        assert f"code: type {code}" in painted(pilot)
        await type_in(pilot, code)
        await press(pilot, "f2")
    assert [type(e) for e in new_entries(door, code, before)] == [Step]


async def test_a_second_step_forward_of_a_day_needs_an_override(door: Door) -> None:
    """Practice note 4.13, case 12."""
    drafts = [door.draft("step", stage="RC3", direction="forward", verdict="READY")]
    Ledger(door.store, "TK", lambda: NOW).append("BY-069", drafts)
    async with step(door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "There was a step forward today already." in painted(pilot)
        before = newest(door)
        await press(pilot, "f2")
        assert "category: choose" in painted(pilot)
    assert new_entries(door, "BY-069", before) == []


async def test_on_hold_needs_an_override(door: Door) -> None:
    async with step(door, "BY-093").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "BY-093 is on hold until Wed 11 Mar 2026." in painted(pilot)
        await press(pilot, "f2")
        assert "category: choose" in painted(pilot)


async def test_closed_needs_an_override_or_is_the_last_stage(door: Door) -> None:
    app = step(door, "BY-087")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "RC4 is the last stage: after it comes discharge, not a step." in painted(pilot)
        await press(pilot, "down", "f2", "y")
    assert app.result == "not dismissed"


def flares_on(door: Door) -> None:
    """BY-018 with its load cut on the day of the first flare, and another flare today (ruling 78)."""
    cut = door.draft("contact", on=door.today - timedelta(days=3), outcome="spoke", load_cut=True)
    door.append("BY-018", [cut, door.draft("session", on=door.today, during=9)])


async def test_a_step_back_needs_no_override_and_stops_what_the_stage_does_not_allow(door: Door) -> None:
    """Ruling 83: it stops items not allowed there, and names the highest allowed rung."""
    flares_on(door)
    before = newest(door)
    async with step(door, "BY-018", "back").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        shown = " ".join(painted(pilot).replace("│", " ").split())
        assert "RC3 Build -> RC2 Base load, by TK" in shown
        assert "scaption raise stops; highest allowed on its ladder: light scaption raise" in shown
        await press(pilot, "down", "y")
    stepped, out = new_entries(door, "BY-018", before)
    assert isinstance(stepped, Step)
    assert (stepped.stage, stepped.direction, stepped.verdict) == ("RC2", "back", "STEP BACK ADVISED")
    assert isinstance(out, ProgrammeItem)
    assert out.exercise == "scaption raise"
    assert out.stopped == "step to RC2: moderate resisted work is not part of it"
    assert out.recorded_at == stepped.recorded_at


async def test_a_step_forward_lists_the_rungs_it_opens(door: Door) -> None:
    async with step(door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "(opens: scaption raise)" in painted(pilot)


async def test_the_first_stage_has_no_step_back(door: Door) -> None:
    before = newest(door)
    async with step(door, "BY-030", "back").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "RC1 is the first stage: there is no step back" in painted(pilot)
        await press(pilot, "down", "y", "f2", "enter")
    assert new_entries(door, "BY-030", before) == []


@pytest.mark.parametrize(("code", "against"), [("BY-069", "READY"), ("BY-018", "STEP BACK ADVISED")])
async def test_staying_against_the_verdict_is_written_with_its_reason(
    door: Door, code: str, against: str
) -> None:
    flares_on(door)
    before = newest(door)
    async with step(door, code).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f4")
        assert f"Staying is against the verdict {against}." in painted(pilot)
        await press(pilot, "1")
        await type_in(pilot, REASON)
        await press(pilot, "f2")
    (stored,) = new_entries(door, code, before)
    assert isinstance(stored, Override)
    assert stored.rules == door.rules.stamp
    assert (stored.against, stored.category, stored.reason) == (against, "patient goal", REASON)


async def test_staying_is_no_decision_on_not_yet(door: Door) -> None:
    async with step(door, "BY-084", "stay").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Staying needs no entry: the verdict is NOT YET." in painted(pilot)


async def test_a_y_in_the_reason_is_a_letter(door: Door) -> None:
    before = newest(door)
    async with step(door, "BY-084").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "2")
        await type_in(pilot, "yearly rowing day")
        assert "yearly rowing day" in painted(pilot)
    assert new_entries(door, "BY-084", before) == []


async def test_escape_leaves_the_stage_as_it_is(door: Door) -> None:
    before = newest(door)
    app = step(door, "BY-069")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "escape")
    assert app.result is None
    assert new_entries(door, "BY-069", before) == []


async def test_undo_restores_the_clock_and_keeps_both(door: Door) -> None:
    """Practice note 4.11: undo within the day restores the clock."""
    days = door.standing("BY-069").days_in_stage
    async with step(door, "BY-069").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "y")
    assert door.standing("BY-069").days_in_stage == 0
    app = FormApp(UndoScreen(door, door.standing("BY-069")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Will withdraw: stepped forward to RC3 on Mon 2 Mar; the verdict was READY" in painted(pilot)
        await press(pilot, "y")
    assert "Undone: BY-069" in app.result
    after = door.standing("BY-069")
    assert (after.stage, after.days_in_stage) == ("RC2", days)
    with door.store.reading() as connection:
        kept = connection.execute("SELECT count(*) FROM entry WHERE batch > 0").fetchone()[0]
    assert kept == 2


async def test_nothing_of_today_means_nothing_to_undo(door: Door) -> None:
    app = FormApp(UndoScreen(door, door.standing("BY-069")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Nothing was written for BY-069 today" in painted(pilot)
        assert "ithdraw" not in painted(pilot)
        await press(pilot, "y")
    assert app.result == "not dismissed"


async def test_an_undone_entry_is_not_undone_again(door: Door) -> None:
    ledger = Ledger(door.store, "TK", lambda: NOW)
    ledger.append("BY-069", [door.draft("contact", outcome="spoke")])
    ledger.undo("BY-069")
    async with FormApp(UndoScreen(door, door.standing("BY-069"))).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Nothing was written for BY-069 today" in painted(pilot)
