"""Messages under treatment (ruling 84, with 63 and 94): urgent, owed, answered, and what they ask first."""

from __future__ import annotations

from typing import Any

import pytest

from armrise.store.clinic.actions.endings import DischargeAsk, discharge
from armrise.store.clinic.case.standing import Word
from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.messages import asked_first, warnings
from armrise.store.record.kinds.head import NOTHING_NEW
from armrise.store.rules.red_flag import EVENT
from tests.clinic.build import TODAY, Builder, case, codes, live, on, reason, rules, standing_of, waiting
from tests.clinic.build_more import ready_rc1

HOT = "hot or swollen joint, or unwell"
WOUND = "wound discharge or fever after surgery"
SENSE = "motor or sensory loss"
CHEST = "chest, arm or jaw pain on exertion, or breathless"
SIGHT = "sight, jaw or new headache with shoulder pain"


def received(made: Builder, day: int, note: str | None = None, **more: Any) -> Builder:
    """A message received on ``day``."""
    return made.contact(day, "message received", note=note, **more)


def urgency(made: Builder, code: str = "MSU", today: int = 0) -> int:
    """Severity of a reason, 0 when it is not live."""
    found = [r for r in standing_of(made, on(today)).reasons if r.code == code]
    return found[0].severity if found else 0


# --- the worked examples ------------------------------------------------------------------------------------


def test_84_yes_a_warning_word_today() -> None:
    """PO day 16, "wound is leaking", today: MSU 2."""
    found = reason(standing_of(received(case("PO2", day=2, onset=16), 0, "wound is leaking")), "MSU")
    assert (found.severity, found.rank, found.tier) == (2, 4, "harm if left")
    assert found.sentence == "urgent message: 'leaking' (wound), today, not answered"


def test_84_yes_a_protected_stage_today() -> None:
    """FX2 "strap is torn" today: MSU 1."""
    found = standing_of(received(case("FX2", day=4), 0, "strap is torn"))
    assert reason(found, "MSU").severity == 1
    assert reason(found, "MSU").sentence == "urgent message: today, not answered"


def test_84_yes_a_day_later_under_treatment() -> None:
    """RC2, message on Thursday, list of Friday: MSG 1."""
    made = received(case("RC2", day=20), -4, "can I swim")  # Thursday 26 February
    found = standing_of(made, on(-3))
    assert reason(found, "MSG").severity == 1
    assert (reason(found, "MSG").rank, reason(found, "MSG").tier) == (13, "contact owed")
    assert "MSU" not in codes(found)


@pytest.mark.parametrize("note", ["can I swim", "no fever at all"])
def test_84_no_message_of_today(note: str) -> None:
    assert not {"MSU", "MSG"} & set(codes(standing_of(received(case("RC2", day=20), 0, note))))


# --- when it is urgent --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("days", "code"), [(0, ""), (1, "MSG"), (3, "MSG"), (4, "MSU")])
def test_84_the_days_of_a_message_without_a_word(days: int, code: str) -> None:
    """A Friday's message is no alarm on Monday (day 3); from `message.urgent_days` = 4 it is urgent."""
    made = received(case("RC2", day=20, last_visit=9), -days, "can I swim")
    assert {"MSU", "MSG"} & set(codes(standing_of(made))) == ({code} if code else set())


def test_84_urgent_for_its_age_alone_is_severity_1() -> None:
    made = received(case("RC2", day=20, last_visit=9), -4, "can I swim")
    assert live(standing_of(made))[0] == ("MSU", 1, 4)


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (1, "yesterday"),
        (2, "2 days ago (Sat)"),
        (3, "3 days ago (Fri)"),
        (6, "6 days ago (Tue)"),
        (7, "7 days ago"),
    ],
)
def test_84_the_sentence_says_how_long_it_waits(days: int, said: str) -> None:
    """On a Monday, and within the week since which day: a weekend between is seen."""
    made = received(case("PO2", day=10, last_visit=9), -days, "it is leaking")
    assert reason(standing_of(made), "MSU").sentence == (
        f"urgent message: 'leaking' (wound), {said}, not answered"
    )


def test_84_days_open_count_from_the_first_unanswered_message() -> None:
    made = received(received(case("FX2", day=9, last_visit=8), -5, "may I drive"), -1, "numb fingers")
    assert live(standing_of(made))[0] == ("MSU", 2, 5)


def test_84_any_entry_of_the_patient_with_a_word_is_a_message() -> None:
    """A note of a session with a warning word; not the same note of a clinician."""
    told = case("RC2", day=20).session(0, 2, 2, None, note="arm went numb", source="patient reported")
    assert urgency(told) == 2
    seen = case("RC2", day=20).session(0, 2, 2, None, note="arm went numb", source="clinician measured")
    assert urgency(seen) == 0


@pytest.mark.parametrize("note", [NOTHING_NEW, NOTHING_NEW.replace(", unsteady", "")])
def test_84_the_words_of_the_check_in_are_none_of_the_patients(note: str) -> None:
    """Check-ins of this and of earlier versions note what was asked: "fever" there is no warning."""
    assert urgency(case("RC2", day=20).session(0, 2, 2, None, note=note, source="patient reported")) == 0
    more = f"{note}; but fingers tingling"
    assert urgency(case("RC2", day=20).session(0, 2, 2, None, note=more, source="patient reported")) == 2


def test_84_a_closed_case_owes_it_at_once_and_a_word_is_urgent() -> None:
    done = case("RC4", day=40, last_visit=21).discharge(-20, letter=False)
    assert live(standing_of(received(done, 0, "may I come back"))) == [("MSG", 0, 0)]
    done = case("RC4", day=40, last_visit=21).discharge(-20, letter=False)
    assert live(standing_of(received(done, 0, "chest hurts"))) == [("MSU", 2, 0)]


@pytest.mark.parametrize(("outcome", "urgent"), [("moved", 2), ("died", 0)])
def test_84_a_word_after_a_move_is_told_and_after_a_death_nothing(outcome: str, urgent: int) -> None:
    done = case("RC4", day=40, last_visit=21).discharge(-20, outcome, letter=False)
    assert urgency(received(done, 0, "chest hurts")) == urgent


@pytest.mark.parametrize(("note", "urgent"), [("arm is numb", 2), ("sooner, please", 0)])
def test_84_before_the_first_visit_a_word_alone_speaks(note: str, urgent: int) -> None:
    """Safer reading: the ruling speaks of treatment, and a warning word does not wait for it."""
    made = received(waiting(), -5, note)
    assert (urgency(made), urgency(made, "MSG")) == (urgent, 0)


def test_84_a_hold_hides_neither() -> None:
    assert urgency(received(case("RC2", day=20).hold(-3, 9), 0, "numb")) == 2
    assert urgency(received(case("RC2", day=20, last_visit=9).hold(-3, 9), -2, "hello"), "MSG") == 2


# --- what ends it -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("outcome", ["spoke", "message answered"])
def test_84_a_contact_ends_it(outcome: str) -> None:
    assert urgency(received(case("RC2", day=20), -1, "numb").contact(0, outcome)) == 0


@pytest.mark.parametrize("outcome", ["no answer", "message left", "wrong number"])
def test_84_an_attempt_does_not(outcome: str) -> None:
    assert urgency(received(case("RC2", day=20), -1, "numb").contact(0, outcome)) == 2


def test_84_a_visit_ends_it_and_a_decision_does_not() -> None:
    assert urgency(received(case("RC2", day=20), -1, "numb").visit(0)) == 0
    assert urgency(received(case("RC2", day=20), -1, "numb").decision(0, "message")) == 2


def test_84_a_call_before_the_message_was_recorded_is_no_answer() -> None:
    """Told of Saturday on Monday: the call of Sunday could not know of it."""
    made = received(case("RC2", day=20, last_visit=9).contact(-1), -2, "numb", recorded=0)
    assert urgency(made) == 2


def test_84_it_does_not_end_silence() -> None:
    made = case("RC2", day=60, first=60, last_visit=40, interval=28, scored=False)
    before = reason(standing_of(made), "SIL").severity
    assert reason(standing_of(received(made, -1, "hello")), "SIL").severity == before


def test_94_in_hand_ends_with_the_next_day() -> None:
    """In hand for `message.in_hand_days` = 1, whatever date was typed."""
    made = received(case("RC2", day=20), 0, "numb").in_hand(0, "MSU", 5)
    assert reason(standing_of(made), "MSU").in_hand
    assert not reason(standing_of(made, on(1)), "MSU").in_hand


def test_63_a_larger_severity_is_new_evidence() -> None:
    """In hand at 1 for a protected stage; the next message holds a warning word."""
    made = received(case("FX2", day=9, last_visit=8), 0, "may I drive").in_hand(0, "MSU", 1)
    assert reason(standing_of(made), "MSU").in_hand
    assert not reason(standing_of(received(made, 0, "numb", recorded=0)), "MSU").in_hand


# --- verdict, discharge -------------------------------------------------------------------------------------


def test_84_the_verdict_waits_for_the_answer_in_hand_or_not() -> None:
    made = received(ready_rc1(), 0, "numb")
    for found in (standing_of(made), standing_of(made.in_hand(0, "MSU", 1))):
        assert found.verdict.word is Word.UNKNOWN
        assert found.verdict.line == "answer the message first"


def test_84_a_message_that_is_only_owed_withholds_nothing() -> None:
    assert standing_of(received(ready_rc1(), 0, "can I swim")).verdict.word is Word.READY


def test_63_no_discharge_while_it_waits() -> None:
    ask = DischargeAsk(outcome="goal met", measures="recorded", score=None)
    made = received(case("RC4", day=40), 0, "numb")
    refused = discharge(View.of(made.record(), rules(), TODAY), ask).refused
    assert refused == (
        "No discharge before the message is answered: "
        "urgent message: 'numb' (motor or sensory loss), today, not answered."
    )
    answered = View.of(made.contact(0).record(), rules(), TODAY)
    assert not discharge(answered, ask).refused


def test_84_the_day_a_message_comes_it_is_said_beside_the_verdict() -> None:
    made = received(case("RC2", day=20), 0, "can I swim")
    assert "message of Mon 2 Mar not answered" in standing_of(made).cautions
    assert not any("not answered" in c for c in standing_of(made, on(1)).cautions)


# --- words --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "item"),
    [
        *[(word, HOT) for word in ("fever", "feverish", "shivering", "swollen", "hot", "FEVER")],
        *[(word, WOUND) for word in ("wound", "leaking", "leaks", "oozing")],
        *[(word, SENSE) for word in ("numb", "numbness", "tingling")],
        *[(word, EVENT) for word in ("pop", "popped", "bulge", "bulges", "fell", "fall", "slipped")],
        *[(word, CHEST) for word in ("chest", "breath", "breathless")],
        ("calf", "calf or arm swelling after surgery or immobilisation"),
        *[(word, SIGHT) for word in ("sight", "blind")],
        *[(word, "shoulder-tip pain with belly pain or faintness") for word in ("faint", "fainted")],
        *[(word, "clumsy hands or unsteady legs") for word in ("clumsy", "unsteady")],
        ("bladder", "bladder, bowel or saddle numbness"),
        *[
            (word, "trauma and cannot lift to 90 degrees")
            for word in ("can't lift", "can’t  lift", "cant lift")
        ],
    ],
)
def test_84_the_words_and_the_items_they_ask_for(text: str, item: str) -> None:
    found = warnings(rules(), f"since Monday {text}, what now?")
    assert [one.item for one in found] == [item]


def test_84_a_word_is_quoted_as_it_was_written() -> None:
    found = reason(standing_of(received(case("RC2", day=10), 0, "I can't lift it")), "MSU")
    assert found.sentence == "urgent message: 'can't lift' (trauma), today, not answered"


@pytest.mark.parametrize(
    "text",
    [
        *["no fever", "not swollen", "without  fever", "NO fever at all", "arm is not numb"],
        *["numb asleep", "I fall asleep", "fell asleep on it"],
        *["shot", "hotel", "popular", "wounded pride", "pope", "falls", "can lift", "calfskin", "insight"],
    ],
)
def test_84_no_warning(text: str) -> None:
    """Whole words; not directly after no, not, without; not directly before asleep."""
    assert warnings(rules(), text) == []


@pytest.mark.parametrize("text", ["no, fever", "no. fever", "not really hot", "no pain. numb, asleep"])
def test_84_only_directly_before_counts(text: str) -> None:
    """Safer reading: a comma or another word between them, and the word speaks."""
    assert warnings(rules(), text)


def test_84_the_most_urgent_item_comes_first() -> None:
    found = warnings(rules(), "unsteady legs since the wound is leaking")
    assert found[0].item == WOUND  # 3, unsteady legs 2


def test_84_what_the_form_asks_first() -> None:
    """Each item once, the most urgent first; nothing is answered by the word itself."""
    made = received(case("PO2", day=5), -1, "unsteady, wound leaking and oozing, fell")
    view = View.of(made.record(), rules(), TODAY)
    assert [one.item for one in asked_first(view)] == [WOUND, EVENT, "clumsy hands or unsteady legs"]
    assert codes(standing_of(made))[:1] == ["MSU"]
    assert asked_first(View.of(made.contact(0).record(), rules(), TODAY)) == []
