"""Findings that decide, as data: the table of ruling 66, the contradictions of ruling 67, every refusal."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from armrise.store.rules import read as rulefile
from armrise.store.rules.read import RuleFileError, load
from armrise.store.rules.rows import pick, rows
from armrise.store.rules.trigger import Trigger

RULES = load()


def trigger(code: str, key: str) -> Trigger:
    found = RULES.pathways[code].triggers if code else RULES.triggers
    return next(one for one in found if one.key == key)


def days(one: Trigger) -> tuple[int | None, int | None]:
    return tuple(figure and figure.whole for figure in (one.from_day, one.found_from))  # type: ignore[return-value]


# --- 66: the table ------------------------------------------------------------------------------------------

LIFT = "cannot lift after injury"
FOUND = ["second dislocation found", "bony lesion found"]
"""The safer reading in RC, FS and OA: what was found is acted on, and refers for nothing."""


@pytest.mark.parametrize(
    ("code", "keys"),
    [
        *((code, [LIFT, *FOUND]) for code in ("RC", "FS", "OA")),
        ("AD", ["badge", "deltoid", "nerve", LIFT, "second event", "bony"]),
        ("PO", ["badge", "deltoid", "wound early", "wound late"]),
        ("FX", ["badge", "deltoid", "nerve", "one piece", "cannot lift", "bony"]),
    ],
)
def test_66_the_triggers_stand_in_the_order_of_the_table(code: str, keys: list[str]) -> None:
    assert [one.key for one in RULES.pathways[code].triggers] == keys
    assert [one.key for one in RULES.triggers] == ["new numbness", "weak"]


@pytest.mark.parametrize(
    ("code", "key", "from_day", "found_from", "status"),
    [
        ("AD", "badge", None, None, "common practice"),
        ("PO", "badge", 2, None, "common practice"),  # a nerve block wears off
        ("PO", "deltoid", 2, None, "common practice"),
        ("AD", "nerve", 21, None, "published"),  # Visser 1999
        ("PO", "wound early", 7, None, "common practice"),
        ("PO", "wound late", 14, 7, "common practice"),
        ("FX", "one piece", 14, None, "common practice"),
        ("RC", LIFT, 14, 14, "published"),  # Exeter pathway; ruling 95: a look counts from that day on
        ("FX", "cannot lift", 84, 84, "design"),
        ("", "weak", None, None, "published"),  # Rees 2021
    ],
)
def test_66_the_days_and_their_status(
    code: str, key: str, from_day: int | None, found_from: int | None, status: str
) -> None:
    one = trigger(code, key)
    assert days(one) == (from_day, found_from)
    assert one.status == status


def test_66_two_of_them_are_red_flags_and_all_others_findings() -> None:
    every = [*RULES.triggers, *(one for path in RULES.pathways.values() for one in path.triggers)]
    red = {one.key: (one.severity, one.as_item, one.about) for one in every if one.reason == "RED"}
    assert red == {
        "new numbness": (3, "motor or sensory loss", ()),
        "wound late": (3, "wound discharge or fever after surgery", ()),
    }
    assert {(one.severity, bool(one.about)) for one in every if one.reason == "FND"} == {(2, True)}


def test_66_what_the_verdict_refers_for() -> None:
    refers = {one.key: one.refer for one in RULES.pathways["AD"].triggers}
    assert refers == {
        **{"badge": None, "deltoid": None, "nerve": "nerve"},
        **{LIFT: "image cuff", "second event": "second event", "bony": "bony"},
    }
    assert [one.refer for one in RULES.pathways["RC"].triggers] == ["image cuff", None, None]
    assert trigger("AD", "nerve").referral_only
    assert not trigger("AD", "badge").referral_only


def test_66_cannot_lift_reads_the_finding_and_the_measure_after_any_injury() -> None:
    one = trigger("RC", LIFT)
    assert [(c.finding, c.answer, c.measure, c.below) for c in one.when] == [
        ("can lift to 90 degrees", "no", None, None),
        (None, None, "active_flexion", 90),
    ]
    assert one.clock == ("other injury", "dislocation")
    assert trigger("FX", "cannot lift").clock == ("fracture",)  # ruling 94
    assert one.text == "cannot lift to 90 degrees {days} days after the injury: image the cuff"


def test_66_new_numbness_is_a_change_and_a_second_event_counts_once_assessed() -> None:
    new = trigger("", "new numbness")
    assert [(c.finding, c.answer, c.after) for c in new.when] == [
        ("badge sensation lost", "yes", "no"),
        ("deltoid contracts", "no", "yes"),
    ]
    assert new.clock == ("own onset",)
    second = trigger("AD", "second event").when[1]
    assert (second.event, second.assessed) == (("dislocation", "slipped out of joint"), True)


def test_67_the_contradictions() -> None:
    said = {
        one.item: ([(c.finding, c.answer) for c in one.when], one.together, one.visit_cause)
        for one in RULES.contradictions
    }
    assert said == {
        "cancer in the past": ([("cancer history", "yes")], False, None),
        "motor or sensory loss": (
            [("badge sensation lost", "yes"), ("deltoid contracts", "no")],
            False,
            None,
        ),
        "wound discharge or fever after surgery": ([("wound dry", "no")], False, None),
        "trauma and cannot lift to 90 degrees": ([("can lift to 90 degrees", "no")], False, None),
        "neck movement reproduces arm pain with neurological signs": (
            [("neck movement reproduces pain", "yes"), ("grip weaker than other side", "yes")],
            True,
            None,
        ),
        "unrelenting night pain": ([], False, "f"),
    }
    wound = next(one for one in RULES.contradictions if one.item.startswith("wound"))
    assert wound.from_day is not None
    assert wound.from_day.whole == 7


def test_what_decides_is_shown_with_its_days_and_their_source() -> None:
    shown = [row for row in pick(rows(RULES), "AD") if "nerve" in row.name and "trigger" in row.name]
    assert [(row.name, row.value) for row in shown] == [
        ("trigger: nerve", "nerve not seen recovered at 3 weeks: nerve referral"),
        ("trigger: nerve, from day", "21"),
    ]
    assert "finding badge sensation lost, answer yes or finding deltoid contracts" in shown[0].meaning
    assert shown[1].source == "Visser 1999: nerve test after 3 weeks"


# --- refusals -----------------------------------------------------------------------------------------------

NERVE = 'key = "nerve"\nwhen = [\n    { finding = "badge sensation lost", answer = "yes" },'
WEAK = '    { finding = "weakness after injury", answer = "yes" },\n]\n'
WOUND_ITEM = 'as_item = "wound discharge or fever after surgery"\n'


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        (
            "AD.toml",
            NERVE,
            NERVE.replace("badge", "badges"),
            "trigger nerve, condition 1, finding: is 'badges",
        ),
        (
            "AD.toml",
            NERVE,
            NERVE.replace('"yes"', '"maybe"'),
            "trigger nerve, condition 1, answer: is 'maybe'",
        ),
        (
            "AD.toml",
            NERVE,
            NERVE.replace(', answer = "yes"', ""),
            "condition 1, answer: goes with finding, and only with it",
        ),
        ("RC.toml", '"active_flexion", below = 90', '"active_lift", below = 90', "measure: is 'active_lift'"),
        ("RC.toml", '"active_flexion", below = 90', '"active_flexion"', "below: goes with measure"),
        (
            "RC.toml",
            'measure = "active_flexion", below',
            'finding = "wound dry", measure = "active_flexion", below',
            "condition 2: needs one of finding, measure or event",
        ),
        ("AD.toml", '"slipped out of joint"], assessed', '"slid"], assessed', "event: holds 'slid', allowed"),
        (
            "rules.toml",
            'answer = "no", after = "yes"',
            'answer = "no", after = "no"',
            "trigger new numbness, condition 2, after: is no like answer",
        ),
        ("rules.toml", WEAK, "]\n", "trigger weak, when: is missing, needed is at least one condition"),
        ("rules.toml", 'key = "weak"\n', "", "trigger 2, key: is missing"),
        ("rules.toml", 'key = "weak"', 'key = "new numbness"', "key: is 'new numbness' a second time"),
        ("rules.toml", WEAK, f'{WEAK}stages = ["RC1"]\n', "trigger weak, stages: holds 'RC1', allowed is"),
        (
            "AD.toml",
            'key = "bony"\n',
            'key = "bony"\nstages = ["AD9"]\n',
            "trigger bony, stages: holds 'AD9'",
        ),
        ("AD.toml", 'reason = "FND"', 'reason = "STF"', "reason: is 'STF', allowed is one of FND, RED"),
        (
            "AD.toml",
            "severity = 2\n",
            "severity = 4\n",
            "severity: is 4, allowed is a whole number from 1 to 3",
        ),
        ("PO.toml", WOUND_ITEM, "", "trigger wound late, as_item: is missing, needed is the item that a RED"),
        ("PO.toml", WOUND_ITEM, 'as_item = "the wound"\n', "as_item: is 'the wound', allowed is"),
        ("PO.toml", WOUND_ITEM, f'{WOUND_ITEM}about = ["nerve"]\n', "about: has no effect beside RED"),
        (
            "AD.toml",
            'about = ["bony"]\n',
            "",
            "trigger bony, about: is missing, needed is at least one entry",
        ),
        ("AD.toml", 'about = ["bony"]', 'about = ["bones"]', "about: holds 'bones', allowed is"),
        ("AD.toml", 'refer = "bony"', 'refer = "bones"', "refer: is 'bones', allowed is"),
        ("AD.toml", 'clock = ["dislocation"]', 'clock = ["gradual"]', "clock: holds 'gradual', allowed is"),
        ("FX.toml", 'clock = ["fracture"]\nfrom_day', "from_day", "from_day: needs clock beside it"),
        ("RC.toml", "found_from =", "# found_from =", "look_again: needs found_from beside it"),
        (
            "AD.toml",
            '"bony lesion on imaging: surgical referral"\nabout',
            '"{days} days"\nabout',
            "states no clock",
        ),
        ("AD.toml", "{days} days after", "{weeks} after", "text: holds a brace, allowed is only {days}"),
        ("AD.toml", 'refer = "bony"', 'refer = "bony"\nfast = true', "trigger bony, fast: is not known here"),
        (
            "PO.toml",
            'reason = "FND"',
            'to_day = { days = 1, source = "x", status = "design" }\nreason = "FND"',
            "trigger badge, to_day: is day 1, allowed is from_day 2 or later",
        ),
        ("rules.toml", 'visit_cause = "f"\n', "", "contradiction 6, when: is missing"),
        (
            "rules.toml",
            'visit_cause = "f"',
            'visit_cause = "g"',
            "visit_cause: is 'g', allowed is one of a, b",
        ),
        (
            "rules.toml",
            'item = "cancer in the past"\nwhen',
            'item = "cancer in the past"\ntogether = true\nwhen',
            "contradiction 1, together: needs two or more conditions",
        ),
        (
            "rules.toml",
            'item = "cancer in the past"\nwhen',
            'item = "cancer"\nwhen',
            "item: is 'cancer', allowed",
        ),
    ],
)
def test_a_trigger_that_does_not_hold_together_is_refused(
    tmp_path: Path, name: str, old: str, new: str, says: str
) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(RuleFileError) as caught:
        load(folder)
    said = str(caught.value)
    assert said.startswith(f"{name}, ")
    assert says in said
    assert "\n" not in said
