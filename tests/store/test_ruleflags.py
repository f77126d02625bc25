"""The red-flag screen as data: the table of ruling 85, the leads, the words of messages (ruling 84)."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from armrise.store.record.kinds.safety import FLAG_ITEMS, NOT_NAMED, RETIRED_SCREEN_ITEMS
from armrise.store.rules import read as rulefile
from armrise.store.rules.read import RuleFileError, load

RULES = load()
N, H, S, W, V = (lead.name for lead in RULES.leads)


def test_85_the_leads_stand_most_urgent_first() -> None:
    assert [lead.words for lead in RULES.leads] == [
        "Call the emergency number now.",
        "Go to hospital today.",
        "Ring your surgical team today; if you cannot reach them, go to hospital.",
        "We need to see you today: ring us.",
        "We need to see you in the next days: ring us today.",
    ]


def test_85_urgency_and_lead_of_every_item() -> None:
    stated = [(item.severity, item.lead) for item in RULES.screen_items.values() if item.lead]
    assert stated == [
        *((3, H), (3, H), (3, H), (2, V), (1, V), (2, V), (2, V), (2, V), (3, H)),
        *((3, N), (3, N), (3, H), (3, S), (2, V), (2, W), (3, H), (2, V), (2, W), (2, W)),
    ]
    assert set(RULES.screen_items) == set(FLAG_ITEMS)


def test_85_further_leads_say_their_condition() -> None:
    further = {name: [(s.lead, s.words) for s in item.also] for name, item in RULES.screen_items.items()}
    assert {name: said for name, said in further.items() if said} == {
        "motor or sensory loss": [(N, "if face, speech or leg are affected too")],
        "both shoulders stiff in the morning over 45 minutes, age over 50": [
            (H, "today if your sight, jaw or scalp is affected")
        ],
        "sight, jaw or new headache with shoulder pain": [(N, "if sight is going")],
        "calf or arm swelling after surgery or immobilisation": [(N, "if breathless")],
    }


def test_85_new_items_are_owed_from_december_and_the_childs_under_18() -> None:
    asked = {n: (i.asked_from, i.asked_under) for n, i in RULES.screen_items.items() if i.asked_from}
    first = date(2026, 12, 1)
    assert asked == {
        "clumsy hands or unsteady legs": (first, None),
        "bladder, bowel or saddle numbness": (first, None),
        "cough with blood, drooping eyelid or wasted hand": (first, None),
        "child or teenager: fall, night pain, fever, or arm not used": (first, 18),
    }


def test_85_cancer_in_the_past_is_more_urgent_beside_night_pain() -> None:
    item = RULES.screen_items["cancer in the past"]
    assert item.raised is not None
    assert (item.severity, item.raised.severity, item.raised.item) == (1, 2, "unrelenting night pain")
    assert item.raised.visit_causes == ("a", "b", "f")


def test_85_retired_items_keep_a_severity_and_have_no_words() -> None:
    retired = {name: RULES.screen_items[name] for name in RETIRED_SCREEN_ITEMS}
    assert [item.severity for item in retired.values()] == [2, 3, 3]
    assert {(item.lead, item.words) for item in retired.values()} == {(None, None)}
    assert RULES.screen_severity[NOT_NAMED].whole == 2


@pytest.mark.parametrize(
    ("word", "item"),
    [
        ("fever*", "hot or swollen joint, or unwell"),
        ("leak*", "wound discharge or fever after surgery"),
        ("numb*", "motor or sensory loss"),
        ("slipped", "new injury or event"),
        ("breath*", "chest, arm or jaw pain on exertion, or breathless"),
        ("faint*", "shoulder-tip pain with belly pain or faintness"),
        ("unsteady", "clumsy hands or unsteady legs"),
        ("can't lift", "trauma and cannot lift to 90 degrees"),
    ],
)
def test_84_the_words_of_messages(word: str, item: str) -> None:
    assert RULES.message_words.items[word] == item
    assert RULES.message_words.not_after == ("no", "not", "without")
    assert RULES.message_words.not_before == ("asleep",)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            '"fever*" = "hot or swollen joint, or unwell"',
            '"fever*" = "hot"',
            "words, fever*: is 'hot', allowed",
        ),
        ('"fever*" =', '"f*ver" =', "words, f*ver: is no word in small letters"),
        ('"fever*" =', '"Fever" =', "words, Fever: is no word in small letters"),
        ('"fever*" =', '"*" =', "words, *: is no word in small letters"),
        ("[message_words]\n", "[message_words]\nnever = []\n", "message_words, never: is not known here"),
        ("[message_words.words]", "[message_wordss]", "message_words, words: is missing"),
        (
            'name = "emergency number"',
            'name = "hospital today"',
            "lead 2, name: is 'hospital today' a second",
        ),
        ('lead = "seen today"', 'lead = "seen soon"', "lead: is 'seen soon', allowed is one of emergency"),
        ('name = "motor or sensory loss"', 'name = "numbness"', "name: is 'numbness', allowed is"),
        (
            'name = "new lump or weight loss"',
            'name = "cancer in the past"',
            "a second time, allowed is each item",
        ),
        ('lead = "surgical team"\n', "", "surgery', lead: is missing, needed is what the patient is to do"),
        (
            "asked_from = 2026-12-01",
            'asked_from = "December"',
            "asked_from: is 'December', allowed is a date",
        ),
        ("asked_under = 18", "asked_under = 0", "asked_under: is 0, allowed is a whole number from 1 to 120"),
        (
            "raised = { severity = 2, item",
            "raised = { severity = 2, items",
            "raised, items: is not known here",
        ),
        (
            'visit_causes = ["a", "b", "f"]',
            'visit_causes = ["z"]',
            "visit_causes: holds 'z', allowed is one of a",
        ),
    ],
)
def test_red_flags_that_do_not_hold_together_are_refused(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    text = (folder / "rules.toml").read_text(encoding="utf-8")
    assert old in text
    (folder / "rules.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(RuleFileError) as caught:
        load(folder)
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


def test_an_item_that_no_file_states_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(rulefile.SHIPPED, folder)
    text = (folder / "rules.toml").read_text(encoding="utf-8")
    start = text.index('[[screen_item]]\nname = "unrelenting night pain"')
    end = text.index("[[screen_item]]", start + 1)
    (folder / "rules.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    with pytest.raises(RuleFileError, match="screen_item: lacks 'unrelenting night pain'"):
        load(folder)
