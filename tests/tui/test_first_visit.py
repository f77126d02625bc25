"""The first visit by its keys, and what is then stored.

Expected behaviour: practice notes 1.3 (blocks and keystroke budget), 3.1 to 3.6 "Enter when", 4.13 cases 3,
19, 20, 23, 34, 36 and 41, and 6.4.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from textual import events

from armrise.store.caseload.write import Ledger
from armrise.store.entries.words import CaseHead
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.care import Appointment, Attendance, Visit
from armrise.store.record.kinds.measured import Finding, Measure, Score
from armrise.store.record.kinds.pain import Irritability
from armrise.store.record.kinds.paperwork import Background
from armrise.store.record.kinds.plan import Orders, Step
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.store.record.kinds.safety import Onset, Screen
from armrise.tui.forms.first_visit.screen import FirstVisitScreen
from armrise.tui.forms.kit.line import Line
from armrise.tui.shell.door import Door, every_entry
from tests.quiet import settle
from tests.tui.form_fakes import FormApp
from tests.tui.form_store import NOW, TODAY, new_entries, of_kind, painted, press
from tests.tui.visit_keys import ALL_NO, FIRST_VISIT, haste, keys, up_to

CODE = "BY-109"
BUDGET = 120
"""Practice note 1.3: about 120 keystrokes."""

HEAD = keys("<enter>", "<enter>", "r", "5", "r", "1", "y")


def fresh(door: Door) -> FormApp:
    return FormApp(FirstVisitScreen(door))


async def test_a_typical_first_visit_stays_within_its_budget(door: Door) -> None:
    """Every block of practice note 1.3 is filled, by keys pressed in haste, in one transaction."""
    app = fresh(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for block, typed in FIRST_VISIT:
            assert block.upper() in painted(pilot)
            await haste(pilot, typed)
    count = sum(key != "look" for _, typed in FIRST_VISIT for key in typed)
    print(f"first visit: {count} keys, {app.result}")
    registered = count - len(FIRST_VISIT[0][1]) + 1  # its head is known, consent alone is asked
    print(f"first visit of a referral that is registered: {registered} keys")
    assert count <= BUDGET
    assert registered <= 120
    assert app.result == "BY-109 RIGHT: first visit written, placed in RC2, 48 entries."
    stored = new_entries(door, CODE, 0)
    assert len({entry.recorded_at for entry in stored}) == 1
    with door.store.reading() as connection:
        assert (
            connection.execute("SELECT count(DISTINCT batch) FROM entry WHERE batch > 0").fetchone()[0] == 1
        )
    head = door.record(CODE)
    told = (
        head.person,
        head.side,
        head.pathway,
        head.age_band,
        head.dominance,
        head.referrer,
        head.clinician,
    )
    assert told == ("P-109", "RIGHT", "RC", "50s", "right", "general practitioner", "TK")
    assert [(s.item, s.answer) for s in of_kind(stored, Screen)] == [("all", "no")]
    (onset,) = of_kind(stored, Onset)
    assert (onset.what, onset.on) == ("gradual", TODAY - timedelta(weeks=12))
    (level,) = of_kind(stored, Irritability)
    assert (level.level, level.proposed, level.mixed, level.settling) == (
        "moderate",
        "moderate",
        False,
        "moderate",
    )
    ranges = {(m.name, m.side): m.value for m in of_kind(stored, Measure)}
    assert ranges["active_flexion", None] == 150
    assert ranges["hand_behind_back", "LEFT"] == 15
    assert ranges["passive_abduction", "LEFT"] == 90
    assert ranges["external_rotation_strength", None] == Decimal("6.2")
    assert ranges["worry_about_movement", None] == 4
    assert {(s.instrument, s.total) for s in of_kind(stored, Score)} == {("SPADI", 58), ("PSFS", 3)}
    answers = {f.name: f.answer for f in of_kind(stored, Finding)}
    assert answers["consent to hold record"] == answers["safety-net advice given"] == "yes"
    assert answers["diabetes"] == answers["neck movement reproduces pain"] == "no"
    (background,) = of_kind(stored, Background)
    assert (background.demand, background.goal, background.sleep) == ("desk", "swim", "sometimes disturbed")
    (visit,), (step,), (slot,) = (of_kind(stored, kind) for kind in (Visit, Step, Appointment))
    assert (visit.interval, visit.usual_morning, step.stage, step.direction) == (21, 3, "RC2", "placing")
    assert slot.booked_for == TODAY + timedelta(days=21)
    programme = [(item.load_class, item.load) for item in of_kind(stored, ProgrammeItem)]
    assert programme == [("R1", None), ("W1", None), ("I2", None)]
    after = door.standing(CODE)
    assert (after.stage, after.status, [r.code for r in after.reasons]) == ("RC2", "active", [])


async def test_an_item_of_the_screen_is_not_asked_until_somebody_asks(door: Door) -> None:
    """Default is not asked, never no; what was not asked stays owed."""
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, HEAD)
        assert painted(pilot).count("not asked") >= 10
        await haste(pilot, keys(*["<pagedown>", "<look>"] * 9, "1", "<enter>", "<f2>"))
    stored = new_entries(door, CODE, 0)
    assert of_kind(stored, Screen) == []
    assert not [m for m in of_kind(stored, Measure) if m.name != "night_waking"]
    reasons = [reason.code for reason in door.standing(CODE).reasons]
    assert "SCR" in reasons


async def test_all_no_is_taken_only_when_the_whole_list_has_been_in_sight(door: Door) -> None:
    """Practice note 1.3: one key "all asked, all no" only after the list has been displayed."""
    async with fresh(door).run_test(size=(80, 17)) as pilot:
        await settle(pilot)
        await haste(pilot, HEAD)
        await press(pilot, "a")
        assert "items were out of sight; then a again." in painted(pilot)
        assert "every item asked, all no" not in painted(pilot)
        for _ in range(4):  # each press shows the next part of the list
            if "MECHANISM" not in painted(pilot):
                await press(pilot, "a")
        assert "MECHANISM" in painted(pilot)
        await press(pilot, "pageup")
        assert "red-flag screen on Mon 2 Mar: every item asked, all no" in painted(pilot)


async def test_a_yes_says_what_to_do_today_and_raises_the_flag(door: Door) -> None:
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, HEAD)
        await press(pilot, "y")
        assert "yes, same day" in painted(pilot)
        assert "POSSIBLE RED FLAG, SAME DAY: act before the patient leaves" in painted(pilot)
        await haste(pilot, [*ALL_NO, *keys(*["<pagedown>"] * 7, "1", "<enter>", "<f2>")])
    stored = of_kind(new_entries(door, CODE, 0), Screen)
    assert [s.answer for s in stored] == ["yes", *["no"] * 16]
    assert door.standing(CODE).tier == "today"


async def test_after_surgery_the_limits_are_asked_and_strength_is_prohibited(door: Door) -> None:
    """Prohibited is a value of its own; the stage proposed is never one that healing keeps shut."""
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(
            pilot, [*HEAD, *ALL_NO, *keys("1", "-16", "<enter>", "cuff repair", "<enter>", "-15", "<enter>")]
        )
        await haste(pilot, keys("3", "+12", "<enter>", "30", "<enter>", "<enter>", "<enter>", "<enter>"))
        assert "IRRITABILITY" in painted(pilot)
        await haste(pilot, keys("<pagedown>", "<pagedown>"))
        assert "testing prohibited: PO4 opens on" in painted(pilot)
        assert "external rotation prohibited, abduction prohibited" in painted(pilot)
        await haste(pilot, keys(*["<pagedown>"] * 4))
        assert "surgery recorded" in painted(pilot)
        await haste(pilot, keys("<enter>"))
        assert "day 16 after surgery; PO2 is open, the exit of PO1 not seen yet" in painted(pilot)
        await haste(pilot, keys("<enter>", "<f2>"))
    stored = new_entries(door, CODE, 0)
    (orders,) = of_kind(stored, Orders)
    assert (orders.on, orders.operation, orders.tear_size, orders.external_rotation_limit) == (
        TODAY - timedelta(days=15),
        "cuff repair",
        "large",
        30,
    )
    assert orders.sling_until == TODAY + timedelta(days=12)
    strength = [m.value for m in of_kind(stored, Measure) if m.name.endswith("_strength")]
    assert strength == [Absence.PROHIBITED, Absence.PROHIBITED]
    assert of_kind(stored, Step)[0].stage == "PO1"


async def test_a_surgery_without_its_date_opens_nothing(door: Door) -> None:
    """Practice note 4.13, case 20."""
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*HEAD, *ALL_NO, "1", "enter"])
        assert "surgery, date not known: NO STAGE OPENS" in painted(pilot)
        await haste(pilot, keys(*["<pagedown>"] * 7, "3"))
        assert "surgery date missing: no later stage is open" in painted(pilot)
        await haste(pilot, keys("<enter>", "<f2>"))
    stored = new_entries(door, CODE, 0)
    assert of_kind(stored, Onset) == []
    assert [s.stage for s in of_kind(stored, Step)] == ["PO1"]


async def test_a_frozen_shoulder_is_considered_and_chosen_by_the_clinician(door: Door) -> None:
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*HEAD, *ALL_NO, "5", *keys("12w", "<enter>", "<pagedown>")])
        await haste(pilot, keys("95 80 18|170 165 60", "<enter>", "20 100|60 170", "<enter>"))
        await haste(pilot, keys(*["<pagedown>"] * 5))
        said = painted(pilot)
        assert "consider frozen shoulder: passive external rotation 20, other side 60" in said
        assert "still to check: radiograph" in said
        await haste(pilot, keys("1", "<enter>", "<f2>"))
    assert door.standing(CODE).pathway == "RC"


async def test_a_minor_needs_a_guardian_and_adult_thresholds_are_said_to_be_adult(door: Door) -> None:
    """Practice note 4.13, case 23."""
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("<enter>", "<enter>", "l"))
        assert "guardian's consent?" not in painted(pilot)
        await haste(pilot, keys("0", "l", "2"))
        assert "guardian's consent?" in painted(pilot)
        await haste(pilot, [*keys("y", "y"), *ALL_NO, *keys(*["<pagedown>"] * 7)])
        assert "adult thresholds: a minor's shoulder differs" in painted(pilot)
        await haste(pilot, keys("1", "<enter>", "<f2>"))
    answers = {f.name: f.answer for f in of_kind(new_entries(door, CODE, 0), Finding)}
    assert answers == {"consent to hold record": "yes", "guardian consent": "yes"}


async def test_a_case_that_waited_is_asked_only_what_is_missing_and_its_slot_is_attended(door: Door) -> None:
    """Practice note 4.13, case 41. Age, side and pathway are carried over; F3 puts the age right."""
    ledger = Ledger(door.store, "TK", lambda: NOW, door.rules)
    head = CaseHead(
        code="BY-200",
        person="P-200",
        side="LEFT",
        pathway="FS",
        registered_on=TODAY - timedelta(days=9),
        age_band="60s",
    )
    ledger.begin(head, [door.draft("appointment", booked_for=TODAY)])
    waiting = door.standing("BY-200")
    assert waiting.status == "waiting"
    app = FormApp(FirstVisitScreen(door, waiting))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        shown = painted(pilot)
        assert "Registered Sat 21 Feb 2026: person P-200, age 60s, for Frozen shoulder. F3 puts" in shown
        assert "None" not in shown
        assert "age band" not in shown
        await haste(pilot, [*keys("y", "r", "1"), *ALL_NO, *keys("5", "<enter>", "<f3>", "7")])
        assert "[1✓] 2✓ 3✓ 4 5" in painted(pilot)
        assert "Whole visit so far: 3 entries, from pages 1, 2." in painted(pilot)
        await haste(pilot, keys(*["<pagedown>"] * 12))
        assert "Enter: FS" in painted(pilot)
        assert "as registered" in painted(pilot)
        await haste(pilot, keys("<enter>", "<enter>", "<f2>"))
    record = door.record("BY-200")
    assert [a.outcome for a in of_kind(every_entry(record), Attendance)] == ["attended"]
    assert (record.age_band, record.dominance, record.referrer) == ("70s", "right", "general practitioner")
    after = door.standing("BY-200")
    assert (after.status, after.pathway, after.age_band) == ("active", "FS", "70s")


async def test_the_second_side_of_a_person_is_linked_and_the_same_side_refused(door: Door) -> None:
    """Practice note 4.13, case 1; a shoulder has one open case."""
    side = door.record("BY-069").side
    other, same = ("l", "r") if side == "RIGHT" else ("r", "l")
    app = fresh(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("<enter>", "P-069", "<enter>", same))
        assert f"The same person as BY-069 {side}: the two sides are linked." in painted(pilot)
        await haste(
            pilot, [*keys("5", "r", "1", "y"), *ALL_NO, *keys(*["<pagedown>"] * 7, "1", "<enter>", "<f2>")]
        )
        assert "BY-069 of person P-069" in painted(pilot)
        assert "a shoulder has one open case" in painted(pilot)
        assert "RC1 Settle" in painted(pilot)
        await haste(pilot, keys(*["<pageup>"] * 24, "<down>", "<down>", other, "<f2>"))
    assert door.record(CODE).linked == ("BY-069",)


async def test_the_strip_shows_what_is_filled_and_f2_goes_to_the_page_at_fault(
    door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*HEAD, *ALL_NO, *keys("5", "<enter>", "6", "q", "<pagedown>", "<pagedown>")])
        shown = painted(pilot)
        assert "STRENGTH 1✓ 2✓ 3✓ 4! 5 [6] 7 8 9 10 next: neck" in shown
        assert '! page 4: pain at rest: "q" is not 0 to 9' in shown
        assert "F2 goes there." in shown
        await press(pilot, "f2")
        assert "IRRITABILITY 1✓ 2✓ 3✓ [4!] 5 6" in painted(pilot)
        await press(pilot, "2", "pagedown")
        assert "Whole visit so far: 4 entries, from pages 1, 2, 4." in painted(pilot)
        monkeypatch.setenv("LC_ALL", "C")
        await press(pilot, "pageup")
        assert "IRRITABILITY 1x 2x 3x [4x] 5" in painted(pilot)


async def test_a_new_case_left_is_kept_whole_and_comes_back(door: Door) -> None:
    app = fresh(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("<enter>", "<enter>", "r", "5"))
        assert "Esc leave unwritten F6 drop" in painted(pilot)
        await press(pilot, "escape")
    assert app.result is None
    assert CODE not in [code for code, _, _ in door.heads()]
    app = fresh(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert not app.form.something_typed
        await press(pilot, "f5")
        assert app.form.row("side").value == "RIGHT"


async def test_nothing_typed_leaves_at_once(door: Door) -> None:
    app = fresh(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "escape")
    assert app.result is None


async def test_a_name_is_warned_of_and_not_refused(door: Door) -> None:
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*HEAD, *ALL_NO, *keys(*["<pagedown>"] * 6, *["<down>"] * 4, "ask Miriam")])
        assert '"Miriam" may be a name: notes carry no names.' in painted(pilot)
        await haste(pilot, keys("<pagedown>", "1", "<enter>", "<f2>"))
    (background,) = of_kind(new_entries(door, CODE, 0), Background)
    assert background.demand == "ask Miriam"


async def test_a_wrong_range_stays_typed_and_is_named(door: Door) -> None:
    app = fresh(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*up_to("range"), *keys("150 300", "<enter>")])
        said = 'value 2 RIGHT, abduction: "300" is out of range, allowed is 0 to 180 degrees.'
        assert said in painted(pilot)
        await haste(pilot, keys("<pagedown>", "<f2>"))
        assert "Not written: a field above is marked." in painted(pilot)
        assert app.screen.query_one("#active", Line).value == "150 300"
    assert CODE not in [code for code, _, _ in door.heads()]


async def test_active_above_passive_is_said_and_not_refused(door: Door) -> None:
    """Practice note 4.12."""
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*up_to("range"), *keys("150 90 60", "<enter>", "50", "<enter>")])
        assert "LOOK AGAIN: active external rotation at side 60 is above passive 50" in painted(pilot)


async def test_without_pathway_and_stage_nothing_is_written(door: Door) -> None:
    app = fresh(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*HEAD, "f2"])
        assert "pathway: Enter for the one proposed, or choose." in painted(pilot)
        assert "DECISION" in painted(pilot)
    assert app.result == "not dismissed"


async def test_an_incomplete_form_has_no_total(door: Door) -> None:
    """Practice note 4.13, case 36."""
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, [*up_to("outcome"), *keys("<enter>", "i", "<enter>", "<pagedown>", "<pagedown>")])
        await haste(pilot, keys("<enter>", "<enter>", "<f2>"))
    (score,) = of_kind(new_entries(door, CODE, 0), Score)
    assert (score.instrument, score.total) == ("SPADI", None)


async def test_what_was_typed_is_offered_again(door: Door) -> None:
    """A form left without Esc is kept (here: the process ends)."""
    async with fresh(door).run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await haste(pilot, keys("<enter>", "<enter>", "r", "5"))
        await pilot.pause(0.7)
        await settle(pilot)
    assert isinstance(door.today, date)
    kept = door.left_unwritten("", "FirstVisitScreen")
    assert kept is not None
    assert kept.fields["side"] == "RIGHT"
    assert kept.fields["age"] == "50s"


async def test_keys_that_come_all_at_once_reach_their_fields(door: Door) -> None:
    """A burst, as of a pasted line: no key waits for the screen, and none lands in the field before."""
    app = fresh(door)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for burst in (HEAD, ["a"], ["a", *keys("5", "12w", "<enter>", "62433", "i", "a", "2", "<enter>")]):
            for key in burst:
                app.post_message(events.Key(key, {"enter": "\r"}.get(key, key)))
            await settle(pilot)
        screen = app.screen
        told = {key: screen.row(key).value for key in ("code", "side", "age", "onset", "onset-day", "worst")}
        assert told == {
            "code": CODE,
            "side": "RIGHT",
            "age": "50s",
            "onset": "gradual",
            "onset-day": "12w",
            "worst": "6",
        }
        assert screen.row("level").value == "moderate"
        assert "RANGE" in painted(pilot)
