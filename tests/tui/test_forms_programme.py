"""The home programme by its keys: accepting doses, changing, adding, taking out, weights at home.

Expected behaviour: sections 4.10, 5 and 9 of the clinic's practice notes, rulings 5, 33 and 57.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from armrise.store.clinic.standing.explain import explain
from armrise.store.record.kinds.plan import Override
from armrise.store.record.kinds.programme import DoneItem, HomeLoads, ProgrammeItem
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.programme.screen import ProgrammeScreen
from armrise.tui.shell.door import Door
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import new_entries, newest, painted, press, type_in

SIZE = (80, 24)


def programme(door: Door, code: str) -> FormApp:
    return FormApp(ProgrammeScreen(door, door.standing(code)))


def items(entries: list[Any]) -> dict[str, ProgrammeItem]:
    return {e.exercise: e for e in entries if isinstance(e, ProgrammeItem)}


def proposed(door: Door, code: str) -> dict[str, str]:
    told = explain(door.record(code), door.rules, door.today)
    return {row["exercise"]: row["proposal"]["word"] for row in told["programme"]}


# --- the walk-through: BY-018, blame and deload accepted ------------------------------------------------


async def test_the_flare_names_the_two_raised_exercises_and_their_deload(door: Door) -> None:
    async with programme(door, "BY-018").run_test(size=(100, 40)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
    assert "scaption raise: moderate resisted work, elbow above the shoulder" in shown
    assert "DELOAD to 3 x 8 at 1.5 kg" in shown
    assert "DELOAD to 3 x 10, band 3" in shown
    assert "raised last: scaption raise (Wed 25 Feb), band row (Wed 25 Feb)" in shown
    assert "HOLD 3 x 10 at 1.5 kg" in shown
    assert "at home: 1, 1.5, 2, 2.5, 3 kg; bands 2, 3, 4 (TK, Fri 26 Dec)" in shown
    assert "set by TK Wed 25 Feb, 5 days ago; load last raised Wed 25 Feb" in shown
    assert shown.index("DELOAD") < shown.index("HOLD")


async def test_accepting_shows_what_it_writes_and_writes_it_on_the_second_key(door: Door) -> None:
    before = newest(door)
    app = programme(door, "BY-018")
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "a writes: scaption raise: 3 x 8 at 1.5 kg instead of 3 x 8 at 2 kg" in painted(pilot)
        await press(pilot, "a")
        assert "(scaption raise: 3 x 8 at 1.5 kg instead of 3 x 8 at 2 kg)" in painted(pilot)
        assert new_entries(door, "BY-018", before) == []
        await press(pilot, "enter")
        assert "no session at this dose yet, set today" in painted(pilot)
        await press(pilot, "escape")
    (stored,) = new_entries(door, "BY-018", before)
    assert isinstance(stored, ProgrammeItem)
    assert (stored.exercise, stored.sets, stored.reps, stored.load) == (
        "scaption raise",
        3,
        8,
        Decimal("1.5"),
    )
    assert (stored.reps_low, stored.reps_high, stored.per_week, stored.effort) == (8, 12, 3, 6)
    assert stored.above_shoulder
    assert stored.on == door.today
    assert "scaption raise (moderate resisted work): 3 x 8 (range 8 to 12) repetitions, 1.5 kg" in str(
        app.result
    )


async def test_one_accepted_the_other_still_waits_for_its_own(door: Door) -> None:
    async with programme(door, "BY-018").run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "y")
    assert proposed(door, "BY-018") == {
        "side-lying external rotation": "HOLD",
        "scaption raise": "HOLD",
        "band row": "DELOAD",
    }


async def test_all_that_change_are_accepted_in_one_action(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-018").run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "A")
        shown = painted(pilot)
        assert "scaption raise: 3 x 8 at 1.5 kg instead of" in shown
        assert "band row: 3 x 10, band 3 instead of 3 x 10, band 4" in shown
        await press(pilot, "f2")
    stored = new_entries(door, "BY-018", before)
    assert {name: (i.load, i.band) for name, i in items(stored).items()} == {
        "scaption raise": (Decimal("1.5"), None),
        "band row": (None, 3),
    }
    assert len({e.recorded_at for e in stored}) == 1
    assert set(proposed(door, "BY-018").values()) == {"HOLD"}


async def test_the_last_row_comes_whole_into_sight_on_the_smallest_screen(door: Door) -> None:
    async with programme(door, "BY-018").run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "HOLD 3 x 10 at 1.5 kg" not in painted(pilot)
        await press(pilot, "down", "down")
        assert "> side-lying external rotation" in painted(pilot)
        assert "HOLD 3 x 10 at 1.5 kg" in painted(pilot)


async def test_rows_stay_where_they_are_when_a_dose_is_accepted(door: Door) -> None:
    """Practice note 8, annoyance 7."""
    async with programme(door, "BY-018").run_test(size=(100, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "a", "enter")
        shown = painted(pilot)
    assert "> band row" in shown
    assert shown.index("scaption raise:") < shown.index("band row:") < shown.index("side-lying external")


async def test_leaving_the_acceptance_writes_nothing(door: Door) -> None:
    before = newest(door)
    app = programme(door, "BY-018")
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "a", "escape", "escape")
    assert new_entries(door, "BY-018", before) == []
    assert app.result is None


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("BY-021", "HOLD keeps 3 x 10, band 2: nothing to write."),
        ("BY-100", "WAIT keeps 3 x 10 until the score is there: nothing to write."),
        ("BY-042", "REASSESS: look at the shoulder before any dose. Nothing to write; e sets one."),
        ("BY-007", "Nothing to write; X takes it out for good."),
    ],
)
async def test_what_changes_nothing_writes_nothing_and_says_so(door: Door, code: str, said: str) -> None:
    before = newest(door)
    async with programme(door, code).run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "a")
        shown = painted(pilot)
        assert said in shown
        assert "Nothing was written." in shown
        await press(pilot, "A")
        assert "No proposal changes anything: nothing to write." in painted(pilot)
    assert new_entries(door, code, before) == []


# --- the ladder, the arc (rulings 81 and 82) --------------------------------------------------------------


def easy_slide(door: Door) -> None:
    """A table slide in the programme of BY-069, easy through its whole arc on two dates."""
    slide = {"exercise": "table slide", "load_class": "A1", "sets": 2, "reps": 10}
    began = door.draft(
        "programme item", on=door.today - timedelta(days=6), **slide, reps_low=10, reps_high=15
    )
    done = DoneItem(**slide, sets_asked=2, reps_asked=10, full_arc="yes")
    sessions = [
        door.draft(
            "session",
            on=door.today - timedelta(days=ago),
            source="patient reported",
            during=1,
            later=1,
            morning=2,
            items=(done,),
        )
        for ago in (4, 2)
    ]
    door.append("BY-069", [began, *sessions])


async def test_a_climb_shows_both_exercises_and_writes_them_in_one_action(door: Door) -> None:
    easy_slide(door)
    before = newest(door)
    async with programme(door, "BY-069").run_test(size=(100, 40)) as pilot:
        await settle(pilot)
        while pilot.app.screen.query_one("#items").at != "table slide":  # type: ignore[attr-defined]
            await pilot.press("down")
        await settle(pilot)
        shown = painted(pilot)
        assert "CLIMB to wall walk, 2 x 10" in shown
        assert "a writes: wall walk, 2 x 10 instead of table slide" in shown
        await press(pilot, "a")
        shown = " ".join(painted(pilot).replace("│", " ").split())
        assert "table slide (assisted movement) TAKEN OUT: easy on 2 dates running" in shown
        assert (
            "wall walk (assisted movement): 2 x 10 (range 10 to 15) repetitions, 21 sessions a week" in shown
        )
        await press(pilot, "y")
        await press(pilot, "escape")
    out, begun = new_entries(door, "BY-069", before)
    assert isinstance(out, ProgrammeItem)
    assert isinstance(begun, ProgrammeItem)
    assert (out.exercise, bool(out.stopped)) == ("table slide", True)
    assert (begun.exercise, begun.sets, begun.reps, begun.above_shoulder) == ("wall walk", 2, 10, True)
    assert out.recorded_at == begun.recorded_at


async def test_the_way_of_an_exercise_is_typed_in_its_dose(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-069").run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "n")
        listed = pilot.app.screen.query_one("#catalogue")
        while listed.at != "band external rotation, lowering only":  # type: ignore[attr-defined]
            await pilot.press("down")
        await press(pilot, "enter")
        shown = painted(pilot)
        for begun in (".-.-3/4", "0-70", "other arm lifts"):
            assert begun in shown
        for field, text in (("seconds", "1-1-3/5"), ("arc", "10-60"), ("per_week", "2d"), ("sets_high", "4")):
            line = pilot.app.screen.query_one(f"#{field}", Line)
            line.focus()
            await press(pilot, "end", *["backspace"] * len(line.value))
            await type_in(pilot, text)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-069", before)
    assert isinstance(stored, ProgrammeItem)
    assert (stored.assist, stored.lift_s, stored.pause_s) == ("other arm lifts", 1, 1)
    assert (stored.lower_s, stored.lower_s_high, stored.arc_from, stored.arc_to) == (3, 5, 10, 60)
    assert (stored.per_week, stored.sets, stored.sets_high) == (14, 2, 4)


CANNOT_BE = [
    ("seconds", "3", 'seconds: "3" is not up-hold-down, each 0 to 60'),
    ("seconds", "1-1-61", 'seconds: "1-1-61" is not up-hold-down'),
    ("seconds", "1-1-4/3", 'seconds: "1-1-4/3" is not up-hold-down'),
    ("seconds", "1-1-./3", 'seconds: "1-1-./3" is not up-hold-down'),
    ("arc", "70-0", 'arc: "70-0" is no arc; allowed is from-to between -20 and 180, as 0-70.'),
    ("arc", "181", 'arc: "181" is no arc'),
    ("sets_high", "1", "sets may rise to: 1 is below sets 3."),
]


async def test_a_way_that_cannot_be_is_marked(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-084").run_test(size=(80, 44)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        for field, text, said in CANNOT_BE:
            line = pilot.app.screen.query_one(f"#{field}", Line)
            was = line.value
            line.focus()
            await type_in(pilot, text)
            await press(pilot, "f2")
            assert said in painted(pilot)
            line.input.value = was
            await settle(pilot)
            assert said not in painted(pilot)
    assert new_entries(door, "BY-084", before) == []


# --- changing a dose ------------------------------------------------------------------------------------


async def test_a_dose_is_changed_by_its_fields(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-084").run_test(size=(80, 30)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        await type_in(pilot, "2")
        await press(pilot, "enter")
        await type_in(pilot, "8")
        shown = " ".join(painted(pilot).replace("│", " ").split())
        assert "2 x 8 (range 8 to 12) repetitions, 1 kg, 3 sessions a week" in shown
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-084", before)
    assert isinstance(stored, ProgrammeItem)
    assert (stored.sets, stored.reps, stored.load, stored.reps_high) == (2, 8, Decimal(1), 12)


WRONG = (
    ("sets", "21", "sets: 21 is out of range, allowed is a whole number from 1 to 20."),
    ("reps", "1.5", "repetitions: 1.5 is no whole number, allowed is a whole number from 1 to 200."),
    ("spread", "12-8", 'range: "12-8" is no range; say lowest-highest from 1 to 200, as 8-12.'),
    ("load", "heavy", 'load, kg: "heavy" is no number, allowed is a number from 0 to 200 kg'),
    ("effort", "11", "effort, 0 to 10: 11 is out of range, allowed is a whole number from 0 to 10."),
)


async def test_wrong_values_are_marked_at_their_fields_and_nothing_is_written(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-084").run_test(size=(80, 34)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        for field, text, _ in WRONG:
            pilot.app.screen.query_one(f"#{field}").focus()
            await type_in(pilot, text)
        await press(pilot, "f2")
        shown = painted(pilot)
        for _, text, said in WRONG:
            assert said in shown
            assert f" {text} " in shown
    assert new_entries(door, "BY-084", before) == []


async def test_a_load_is_a_weight_or_a_band_and_sets_are_needed(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-084").run_test(size=(80, 34)) as pilot:
        await settle(pilot)
        await press(pilot, "e", "backspace")
        pilot.app.screen.query_one("#band").focus()
        await type_in(pilot, "3")
        await press(pilot, "f2")
        shown = painted(pilot)
    assert "sets: is missing." in shown
    assert "band: a load in kg is typed too, allowed is one of the two." in shown
    assert new_entries(door, "BY-084", before) == []


async def test_raising_two_things_at_once_is_cautioned_and_not_blocked(door: Door) -> None:
    """Practice note 5.2: never two variables of one item in one session."""
    async with programme(door, "BY-084").run_test(size=(80, 30)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        await type_in(pilot, "4")
        await press(pilot, "enter")
        await type_in(pilot, "12")
        assert "caution: two things raised at once: sets and repetitions" in painted(pilot)


async def test_an_unchanged_dose_writes_nothing(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-084").run_test(size=(80, 30)) as pilot:
        await settle(pilot)
        await press(pilot, "e", "f2")
        assert "Nothing is changed: nothing to write." in painted(pilot)
    assert new_entries(door, "BY-084", before) == []


# --- adding ---------------------------------------------------------------------------------------------


async def test_an_exercise_that_fits_is_added_with_its_usual_start(door: Door) -> None:
    first = {"exercise": "hand, wrist and elbow exercises", "load_class": "P0", "sets": 3, "reps": 10}
    door.append("BY-102", [door.draft("programme item", **first, stopped="begun anew")])
    before = newest(door)
    async with programme(door, "BY-102").run_test(size=SIZE) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert "No exercise is in the home programme." in shown
        assert "PO1 Strict protect fits: hand, wrist and elbow exercises." in shown
        await press(pilot, "n")
        assert "fits PO1 Strict protect (1)" in painted(pilot)
        others = len(door.rules.exercises) - 1
        assert f"needs an override: not part of this stage, or not allowed today ({others})" in painted(pilot)
        await press(pilot, "enter")
        assert "usual start: common practice; needs none" in painted(pilot)
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-102", before)
    assert isinstance(stored, ProgrammeItem)
    assert (stored.exercise, stored.load_class) == ("hand, wrist and elbow exercises", "P0")
    assert (stored.sets, stored.reps, stored.per_week) == (1, 10, 21)


async def test_past_what_heals_an_exercise_needs_category_reason_and_the_case_code(door: Door) -> None:
    """Practice note 4.10; the override lies beside the exercise, in the same action. A table slide is passive
    movement after a repair, a wall walk is not (ruling 83)."""
    before = newest(door)
    async with programme(door, "BY-024").run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "n")
        listed = pilot.app.screen.query_one("#catalogue")
        while listed.at != "wall walk":  # type: ignore[attr-defined]
            await pilot.press("down")
        await press(pilot, "enter")
        shown = painted(pilot)
        assert "wall walk" in shown
        assert "HEALING: assisted movement: from PO3, which opens Fri 13 Mar (day 42 after surgery)" in shown
        await press(pilot, "f2")
        assert "category: choose 1 to 5." in painted(pilot)
        await press(pilot, "3")
        await type_in(pilot, "surgeon")
        await press(pilot, "f2")
        assert "reason: at least 10 characters, 7 typed." in painted(pilot)
        await press(pilot, "end")
        await type_in(pilot, " asked for it")
        await press(pilot, "f2")
        assert "code: type BY-024 to go past this." in painted(pilot)
        await type_in(pilot, "by-02")
        await press(pilot, "f2")
        assert new_entries(door, "BY-024", before) == []
        await type_in(pilot, "4")
        await press(pilot, "f2")
    stored = new_entries(door, "BY-024", before)
    assert sorted(type(e).__name__ for e in stored) == ["Override", "ProgrammeItem"]
    assert len({e.recorded_at for e in stored}) == 1
    (override,) = [e for e in stored if isinstance(e, Override)]
    assert override.against == "not allowed: wall walk, assisted movement"
    assert (override.category, override.reason) == ("surgeon's instruction", "surgeon asked for it")
    standing = door.standing("BY-024")
    assert "surgeon asked for it" in standing.last_override
    assert "healing limit broken" in [r.name for r in standing.reasons]


async def test_outside_the_stage_but_with_nothing_healing_no_code_is_asked(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-069").run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "n")
        listed = pilot.app.screen.query_one("#catalogue")
        while listed.at != "floor press-up":  # type: ignore[attr-defined]
            await pilot.press("down")
        await press(pilot, "enter")
        shown = painted(pilot)
        assert "full weight through the arm: from RC3 Build, now RC2: an override is needed." in shown
        assert "type the case code" not in shown
        pilot.app.screen.query_one("#category").focus()
        await settle(pilot)
        await press(pilot, "1")
        await type_in(pilot, "needs it for his boat")
        await press(pilot, "f2")
    stored = new_entries(door, "BY-069", before)
    assert sorted(type(e).__name__ for e in stored) == ["Override", "ProgrammeItem"]


async def test_an_exercise_of_ones_own_is_typed_by_name_and_class(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-069").run_test(size=(80, 44)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "end", "enter", "f2")
        assert "exercise: say its name." in painted(pilot)
        await type_in(pilot, "Band row")
        await press(pilot, "f2")
        assert "exercise: Band row is in the programme already; e changes its dose." in painted(pilot)
        await press(pilot, "end", *["backspace"] * 8)
        await type_in(pilot, "net hauling")
        await press(pilot, "enter")
        await type_in(pilot, "R9")
        await press(pilot, "f2")
        assert "load class: allowed is one of P0, P1" in painted(pilot)
        await press(pilot, "end", "backspace")
        await type_in(pilot, "1")
        await press(pilot, "enter", "n", "n")
        await type_in(pilot, "2")
        await press(pilot, "enter")
        await type_in(pilot, "8")
        await press(pilot, "f2")
    (stored,) = new_entries(door, "BY-069", before)
    assert isinstance(stored, ProgrammeItem)
    assert (stored.exercise, stored.load_class, stored.sets, stored.reps) == ("net hauling", "R1", 2, 8)


# --- taking out, weights at home ------------------------------------------------------------------------


async def test_an_exercise_is_taken_out_with_a_reason(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-069").run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "down", "X", "f2")
        assert "reason: say why it stops." in painted(pilot)
        await type_in(pilot, "wants fewer")
        await press(pilot, "f2")
        assert "band row" not in painted(pilot).partition("programme from Mon 2 Mar, band row")[0]
    (stored,) = new_entries(door, "BY-069", before)
    assert isinstance(stored, ProgrammeItem)
    assert (stored.exercise, stored.stopped) == ("band row", "wants fewer")
    assert list(proposed(door, "BY-069")) == ["side-lying external rotation"]


async def test_weights_at_home_open_the_load_that_was_not_known(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-108").run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "at home: weights not recorded (w records them)" in painted(pilot)
        await press(pilot, "w")
        await type_in(pilot, "2, 1, 1.5 kg")
        await press(pilot, "enter")
        await type_in(pilot, "3 2")
        assert "Will write: loads at home from Mon 2 Mar: 1, 1.5, 2 kg; bands 2, 3" in painted(pilot)
        await press(pilot, "f2")
        assert "at home: 1, 1.5, 2 kg; bands 2, 3 (TK, Mon 2 Mar)" in painted(pilot)
    (stored,) = new_entries(door, "BY-108", before)
    assert isinstance(stored, HomeLoads)
    assert [float(w) for w in stored.weights if w is not None] == [1, 1.5, 2]
    assert [int(b) for b in stored.bands if b is not None] == [2, 3]


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ((["1", "2", "x"]), 'weights: "12x" is no number, allowed is a number from 0 to 200 kg'),
        ((["tab", "7"]), "bands: 7 is out of range, allowed is a number from 1 to 6 grades"),
    ],
)
async def test_a_weight_that_is_none_is_marked(door: Door, keys: list[str], said: str) -> None:
    before = newest(door)
    async with programme(door, "BY-108").run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "w", *keys, "f2")
        assert said in painted(pilot)
    assert new_entries(door, "BY-108", before) == []


# --- designed states ------------------------------------------------------------------------------------


async def test_a_closed_case_shows_its_programme_and_takes_nothing(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-087").run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "BY-087 is closed: nothing is proposed" in painted(pilot)
        for key in ("a", "A", "e", "n", "X", "w"):
            await press(pilot, key)
            assert isinstance(pilot.app.screen, ProgrammeScreen)
    assert new_entries(door, "BY-087", before) == []


async def test_a_change_made_elsewhere_meanwhile_is_shown_and_nothing_is_lost(door: Door) -> None:
    before = newest(door)
    async with programme(door, "BY-018").run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "a")
        door.append("BY-018", [door.draft("contact", outcome="spoke")])
        await press(pilot, "enter")
        assert "Changed since you opened it: TK wrote contact on Mon 2 Mar: spoke" in painted(pilot)
        await press(pilot, "f2")
    assert [e.KIND for e in new_entries(door, "BY-018", before)] == ["contact", "programme item"]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_the_programme_as_a_picture(door: Door, size: tuple[int, int], snap_compare: Any) -> None:
    async def ready(pilot: Any) -> None:
        await settle(pilot)

    assert snap_compare(programme(door, "BY-018"), terminal_size=size, run_before=ready)


async def test_without_colour_the_cursor_and_what_changes_are_still_told(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with programme(door, "BY-018").run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "> scaption raise" in painted(pilot)
        await press(pilot, "down")
        assert "> band row" in painted(pilot)
        assert "a writes: band row" in painted(pilot)
