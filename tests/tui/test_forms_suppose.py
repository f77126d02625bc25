"""Suppositions by their keys: the verdict they give, and that nothing is ever written.

Expected behaviour: section 8 (18) of the clinic's practice notes, by the rules of 4.3 to 4.8 and ruling 17.
"""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from armrise.tui.forms.suppose.screen import SupposeScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import newest, painted, press, type_in


def form(door: Door, code: str) -> FormApp:
    return FormApp(SupposeScreen(door, door.standing(code)))


def then(pilot: Pilot[Any]) -> str:
    """The supposed verdict as it is shown, folded lines joined."""
    return " ".join(str(pilot.app.screen.query_one("#then").render()).split())


def now(pilot: Pilot[Any]) -> str:
    return " ".join(str(pilot.app.screen.query_one("#now").render()).split())


async def test_what_the_verdict_asks_for_comes_first(door: Door) -> None:
    """BY-060: end range is unknown, night pain not met; good sessions stand for more of rest pain (95)."""
    async with form(door, "BY-060").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        fields = [widget.id for widget in pilot.app.screen.query_one("#fields").children]
        assert fields[:2] == ["finding-pain-mainly-at-end-range", "measure-night-pain"]
        assert "> pain mainly at end range" in painted(pilot)


async def test_a_night_pain_of_three_is_met_by_the_good_sessions_before_it(door: Door) -> None:
    """BY-060: night pain 4 is not met; a single 3 is, because the sessions of those days were good (95)."""
    async with form(door, "BY-060").run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert "not met: night pain 3 or less, twice, at least 7 days apart (4)" in now(pilot)
        await press(pilot, "enter", "3")
        shown = then(pilot)
        assert shown.startswith("SUPPOSED, Mon 2 Mar 2026 UNKNOWN")
        assert "unknown: pain mainly at end range" in shown
        assert "night pain" not in shown
        assert "not met" not in shown
        assert "not met: night pain 3 or less, twice, at least 7 days apart (4)" in now(pilot)


async def test_mornings_make_a_baseline_and_the_baseline_a_run(door: Door) -> None:
    """BY-100: one morning and one session on record, seen again on Mon 9 Mar.

    Three more sessions lie on 4, 6 and 8 Mar; the third morning comes on the 5th, so two of them are good.
    With four, from 2 Mar on, it comes on the 3rd, and those of 4, 6 and 8 Mar are three good ones.
    """
    async with form(door, "BY-100").run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "2", "2", "2", "3")
        assert "no verdict: 3 more sessions: no day between the newest" in then(pilot)
        await type_in(pilot, "7")
        assert "2 good sessions" in then(pilot)
        pilot.app.screen.query_one("#repeats").focus()
        await press(pilot, "4")
        shown = then(pilot)
        assert shown.startswith("SUPPOSED, Mon 9 Mar 2026")
        assert "good sessions" not in shown
        assert "night pain" not in shown
        assert "other side is no reference" in shown


async def test_a_fresh_range_leaves_one_more_to_measure(door: Door) -> None:
    """BY-042: rotation of 42 is 64 per cent of 65; it has to be found twice."""
    async with form(door, "BY-042").run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await type_in(pilot, "42")
        shown = then(pilot)
        assert "64 % (42 of 65 degrees), one more needed" in shown
        assert "gone: nothing recorded" in shown
        assert "too old" in now(pilot)


async def test_a_supposed_flare_names_the_reason_that_comes(door: Door) -> None:
    """BY-069: ready; a next morning of 8 after the newest session ends that."""
    async with form(door, "BY-069").run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        pilot.app.screen.query_one("#morning").focus()
        await press(pilot, "8")
        assert now(pilot).startswith("NOW, Mon 2 Mar 2026 READY")
        assert not then(pilot).startswith("SUPPOSED, Mon 2 Mar 2026 READY")
        assert "gone: ready to step forward" in then(pilot)


async def test_nothing_is_written_whatever_is_typed_and_pressed(door: Door) -> None:
    path = Path(door.store.path)
    before, bytes_before = newest(door), sha256(path.read_bytes()).hexdigest()
    app = form(door, "BY-060")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "y", "3", "2", "2", "2", "f2", "ctrl+s")
        assert "Supposed values are never written" in painted(pilot)
        await press(pilot, "escape")
    assert app.result is None
    assert newest(door) == before
    assert sha256(path.read_bytes()).hexdigest() == bytes_before
    assert door.left_unwritten("BY-060", "SupposeScreen") is None


async def test_the_word_supposed_is_on_the_screen_at_all_times(door: Door) -> None:
    async with form(door, "BY-060").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for key in ("2", "y", "3", "pagedown", "down", "f3", "q"):
            await press(pilot, key)
            assert painted(pilot).count("SUPPOSED") == 2


async def test_emptying_goes_back_to_what_is_on_record(door: Door) -> None:
    async with form(door, "BY-060").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "y")
        assert "reasons stay" in then(pilot)
        await press(pilot, "f3")
        assert "Type a value" in then(pilot)


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("measure-active-flexion", "181", '"181" is not 0 to 180'),
        ("measure-active-flexion", "12a", '"12a" is not 0 to 180'),
        ("ahead", "91", '"91" is not 0 to 90'),
        ("measure-night-pain", "d", '"d" is no number to suppose'),
    ],
)
async def test_an_impossible_value_is_marked_where_it_was_typed(
    door: Door, field: str, typed: str, said: str
) -> None:
    async with form(door, "BY-060").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        pilot.app.screen.query_one(f"#{field}").focus()
        await settle(pilot)
        await type_in(pilot, typed)
        assert said in painted(pilot)


async def test_a_case_on_hold_keeps_its_answer(door: Door) -> None:
    """BY-093: on hold, so no verdict is given, supposed or not."""
    async with form(door, "BY-093").run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        pilot.app.screen.query_one("#measure-night-pain").focus()
        await press(pilot, "0")
        assert "ON HOLD" in then(pilot)
