"""Red-flag items (ruling 85): how urgent, since when asked, and what the patient is told."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from armrise.store.clinic.advice.sheet import sheet
from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.freshness import owed_items
from armrise.store.record.kinds.safety import (
    CHILD_ITEM,
    NOT_NAMED,
    RETIRED_SCREEN_ITEMS,
    SCREEN_ITEMS,
)
from tests.clinic.build import TODAY, Builder, case, codes, reason, rules, standing_of
from tests.clinic.build_more import always_asked

CANCER, NIGHT = "cancer in the past", "unrelenting night pain"
NO_EXERCISES = "Leave out the exercises until you have been seen."
SEE_YOU_FIRST = "We need to see you first, before you go on with the exercises."
CHEST = "chest, arm or jaw pain on exertion, or breathless"
WOUND = "wound discharge or fever after surgery"
MASS, GIRDLE, HEART = RETIRED_SCREEN_ITEMS
SOON = "We need to see you in the next days: ring us today"
FROM = date(2026, 12, 1)

ITEMS = [
    ("hot or swollen joint, or unwell", 3,
     ["Go to hospital today. A hot, red or swollen joint, or fever, has to be looked at today."]),
    ("unreduced dislocation or deformity", 3,
     ["Go to hospital today. Do not try to put it back; keep the arm still."]),
    ("motor or sensory loss", 3,
     ["Go to hospital today. New numbness or weakness of the arm.",
      "Call the emergency number now if face, speech or leg are affected too."]),
    ("new lump or weight loss", 2,
     ["We need to see you in the next days: ring us today about the lump or the weight you have lost."]),
    (CANCER, 1,
     ["We need to see you in the next days: ring us today about your earlier illness and this pain."]),
    (NIGHT, 2, ["We need to see you in the next days: ring us today. Pain that no position eases."]),
    ("trauma and cannot lift to 90 degrees", 2,
     ["We need to see you in the next days: ring us today. You cannot lift the arm since the injury."]),
    ("both shoulders stiff in the morning over 45 minutes, age over 50", 2,
     ["We need to see you in the next days: ring us today.",
      "Go to hospital today if your sight, jaw or scalp is affected."]),
    ("sight, jaw or new headache with shoulder pain", 3,
     ["Go to hospital today. Trouble seeing, jaw pain or a new headache.",
      "Call the emergency number now if sight is going."]),
    (CHEST, 3, ["Call the emergency number now. Chest pain or trouble breathing."]),
    ("shoulder-tip pain with belly pain or faintness", 3,
     ["Call the emergency number now. Belly pain, faintness."]),
    ("calf or arm swelling after surgery or immobilisation", 3,
     ["Go to hospital today. A swollen calf or arm has to be looked at today.",
      "Call the emergency number now if breathless."]),
    (WOUND, 3,
     ["Ring your surgical team today; if you cannot reach them, go to hospital. "
      "The wound or the fever has to be looked at."]),
    ("neck movement reproduces arm pain with neurological signs", 2,
     ["We need to see you in the next days: ring us today. We would like to examine your neck."]),
    ("clumsy hands or unsteady legs", 2,
     ["We need to see you today: ring us. We would like to examine your hands and legs."]),
    ("bladder, bowel or saddle numbness", 3,
     ["Go to hospital today. Say what changed with bladder or bowel."]),
    ("cough with blood, drooping eyelid or wasted hand", 2,
     ["We need to see you in the next days: ring us today. This needs a doctor soon."]),
    (CHILD_ITEM, 2, ["We need to see you today: ring us. A young shoulder is looked at sooner."]),
]  # fmt: skip
"""The table of the ruling: item, severity, what the patient is told."""


def said(made: Builder, today: date = TODAY) -> list[str]:
    """What the sheet says first."""
    return list(sheet(View.of(made.record(), rules(), today)).say)


def open_items(*items: str, stage: str = "RC2") -> Builder:
    """A case with these items open since yesterday."""
    made = case(stage, day=5)
    for item in items:
        made.screen(-1, item, "yes")
    return made


# --- the table ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("item", "severity", "words"), ITEMS)
def test_85_severity_and_words_of_every_item(item: str, severity: int, words: list[str]) -> None:
    made = open_items(item)
    assert reason(standing_of(made), "RED").severity == severity
    assert said(made) == [*words, NO_EXERCISES]


def test_85_the_table_is_whole() -> None:
    assert tuple(item for item, _, _ in ITEMS) == SCREEN_ITEMS


def test_85_something_new_that_nobody_named() -> None:
    made = case("RC2", day=5).contact(-1, anything_new="yes")
    assert reason(standing_of(made), "RED").severity == 2
    assert said(made)[0] == "We need to see you today: ring us. Tell us what is new."


def test_85_example_wound_and_chest_open() -> None:
    """N chest first, then S wound."""
    told = said(open_items(WOUND, CHEST, stage="PO2"))
    assert told[0] == "Call the emergency number now. Chest pain or trouble breathing."
    assert told[1].startswith("Ring your surgical team today; if you cannot reach them, go to hospital.")


def test_85_the_leads_in_their_order() -> None:
    """N, H, S, W, V; a lead with a condition stands below its item."""
    made = open_items(NIGHT, "clumsy hands or unsteady legs", WOUND, "motor or sensory loss", CHEST)
    starts = [line.split()[0] + " " + line.split()[1] for line in said(made)[:-1]]
    assert starts == ["Call the", "Go to", "Call the", "Ring your", "We need", "We need"]
    assert "today: ring us." in said(made)[4]


def test_85_exercises_stay_off_and_healing_limits_stay() -> None:
    found = sheet(View.of(open_items(WOUND, stage="PO2").record(), rules(), TODAY))
    assert found.exercises == ()
    assert any(line.startswith("Keep the sling on") for line in found.say)


def test_85_an_injury_alone_asks_to_be_seen_first() -> None:
    assert said(case("RC2", day=5).event(-1, "fall")) == [SEE_YOU_FIRST]


def test_85_a_closed_case_is_told_the_same() -> None:
    made = case("RC4", day=40, last_visit=21).discharge(-20).screen(-1, CHEST, "yes")
    assert said(made)[0].startswith("Call the emergency number now.")


# --- cancer in the past -------------------------------------------------------------------------------------


def red(made: Builder, item: str = CANCER) -> int:
    """How urgent the possible red flag is."""
    return reason(standing_of(made), "RED").severity


def test_85_cancer_in_the_past_alone_is_a_query() -> None:
    assert red(open_items(CANCER)) == 1


def test_85_beside_night_pain_that_is_open_it_is_urgent() -> None:
    from armrise.store.clinic.verdict.screening import open_flags, severity_of

    made = open_items(CANCER, NIGHT)
    view = View.of(made.record(), rules(), TODAY)
    assert {f.item: severity_of(view, f) for f in open_flags(view)} == {CANCER: 2, NIGHT: 2}
    assert red(made.flag_outcome(0, NIGHT)) == 1


@pytest.mark.parametrize(
    ("name", "values", "severity"),
    [
        ("night_pain", ((-21, 2), (-12, 3), (-3, 5)), 2),  # a
        ("rest_pain", ((-42, 1), (-21, 3), (-10, 3)), 2),  # b
        ("worst_pain", ((-30, 2), (-20, 6), (-3, 6)), 1),  # c alone does not raise it
    ],
)
def test_85_while_pain_at_visits_is_worse_it_is_urgent(
    name: str, values: tuple[tuple[int, int], ...], severity: int
) -> None:
    made = case("RC2", day=80).screen(-1, CANCER, "yes")
    for day, value in values:
        made.measure(day, name, value)
    assert "VIS" in codes(standing_of(made))
    assert red(made) == severity


def test_85_what_a_clinician_stated_is_raised_too_and_never_lowered() -> None:
    """Safer reading: a query stated as one is urgent once night pain is open."""
    made = case("RC2", day=5).screen(-1, CANCER, "yes", severity=1)
    assert red(made) == 1
    assert red(made.screen(-1, NIGHT, "yes", severity=1)) == 2
    assert red(case("RC2", day=5).screen(-1, CANCER, "yes", severity=3)) == 3


# --- retired names ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("item", "severity", "words"),
    [
        (MASS, 2, [f"{SOON} about the lump or the weight you have lost.",
                   f"{SOON} about your earlier illness and this pain.",
                   f"{SOON}. Pain that no position eases."]),
        (GIRDLE, 3, ["Go to hospital today. Trouble seeing, jaw pain or a new headache.",
                     "Call the emergency number now if sight is going.",
                     f"{SOON}.",
                     "Go to hospital today if your sight, jaw or scalp is affected."]),
        (HEART, 3, ["Call the emergency number now. Chest pain or trouble breathing.",
                    "Call the emergency number now. Belly pain, faintness."]),
    ],
)  # fmt: skip
def test_85_an_old_yes_stays_open_under_its_name_with_the_words_of_its_parts(
    item: str, severity: int, words: list[str]
) -> None:
    made = open_items(item)
    assert reason(standing_of(made), "RED").severity == severity
    assert item in reason(standing_of(made), "RED").sentence
    assert said(made) == [*words, NO_EXERCISES]
    recorded = case("RC2", day=5).screen(-1, item, "yes", severity=1)
    assert reason(standing_of(recorded), "RED").severity == 1


# --- asked from ---------------------------------------------------------------------------------------------


def first_visit_on(day: date, *, age: str = "50s") -> Builder:
    """A first visit on ``day``, the items of before all answered "no" there, seen 3 days later."""
    made = case("RC2", day=3, last_visit=None, screened=False, today=day + timedelta(days=3), age_band=age)
    for item in always_asked():
        made.screen(-3, item, "no")
    return made


@pytest.mark.parametrize(("day", "owed"), [(FROM - timedelta(days=1), False), (FROM, True)])
def test_85_a_first_visit_from_the_day_owes_the_new_items(day: date, owed: bool) -> None:
    found = standing_of(first_visit_on(day), day + timedelta(days=3))
    assert ("SCR" in codes(found)) is owed
    if owed:
        assert reason(found, "SCR").sentence == (
            "not asked: clumsy hands or unsteady legs; bladder, bowel or saddle numbness and 1 more"
        )


@pytest.mark.parametrize(("day", "lasts"), [(FROM - timedelta(days=1), True), (FROM, False)])
def test_85_a_later_full_screen_from_the_day_owes_them(day: date, lasts: bool) -> None:
    """Asked in full 60 days ago; asked again without the new items: full before the day, not full from it."""
    made = case("RC2", day=60, screened=False, today=day).screen_all_no(-60)
    for item in always_asked():
        made.screen(0, item, "no")
    lacking = [block.text for block in standing_of(made, day).verdict.blocks]
    assert ("red-flag question" not in lacking) is lasts


@pytest.mark.parametrize(
    ("age", "asked"), [("under 16", True), ("16-17", True), ("18-19", False), ("50s", False), (None, False)]
)
def test_85_the_item_of_a_child_is_owed_under_18(age: str | None, asked: bool) -> None:
    view = View.of(case("RC2", age_band=age).record(), rules(), TODAY)
    assert (CHILD_ITEM in owed_items(view, FROM)) is asked
    assert CHILD_ITEM not in owed_items(view, FROM - timedelta(days=1))


# --- ring us if ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words", ["sight", "chest pain or trouble breathing", "bladder", "hands clumsy or legs unsteady",
              "belly pain after a fall"],
)  # fmt: skip
def test_85_every_sheet_says_when_to_ring(words: str) -> None:
    views = [View.of(case(stage, day=5).record(), rules(), TODAY) for stage in ("RC2", "PO2")]
    told = [sheet(view) for view in views]
    assert all(any(words in line for line in found.ring_us) for found in told)


def test_85_every_open_item_has_a_lead() -> None:
    """No item may be open and say nothing to the patient."""
    for item in (*SCREEN_ITEMS, *RETIRED_SCREEN_ITEMS, NOT_NAMED):
        parts = RETIRED_SCREEN_ITEMS.get(item, (item,))
        assert all(rules().screen_items[part].lead for part in parts)
