"""The eight lines of a letter: what each holds, what none may leave out, whom it is for, when there is none.

Practice notes of the clinic: 1.5 (14 days to reply, a clinician decides, copy to the referrer), 1.7, 8.11
(eight plain lines, no adjectives), 4.13 row 27. The measures in it: ``test_letter_measures``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.draft import (
    ABOUT,
    Drafted,
    as_sent,
    drafted,
    latest,
    open_draft,
    recorded_since,
    suppressed,
    unsaid,
)
from armrise.store.clinic.letter.reader import kind_of
from armrise.store.record.case import CaseRecord
from armrise.store.record.fields import Absence
from armrise.store.record.kinds.paperwork import LETTER_LONGEST, lines_of, text_of
from armrise.store.record.words import day_year
from armrise.store.rules.words.read import read_words
from armrise.tui.command.paper.letter import ABOUT as OF_THE_COMMAND
from tests.clinic.build import TODAY, Builder, case, rules, waiting
from tests.clinic.demo_records import demo, records
from tests.clinic.reading_age import reading_age

TO_A_COLLEAGUE = tuple(about for about in ABOUT if about != "missed visits")
ROTATION = "passive_external_rotation"
JUDGING = """
    good bad excellent poor severe mild moderate significant marked great slight nice pleasant encouraging
    disappointing reasonable fair satisfactory remarkable considerable substantial dramatic impressive minor
    major serious unfortunately normal abnormal typical fine happy pleased motivated compliant difficult
"""
"""Adjectives, and words of the same kind, that no letter may hold of its own."""


def view_of(made: Builder | CaseRecord) -> View:
    return View.of(made.record() if isinstance(made, Builder) else made, rules(), TODAY)


def letter(made: Builder | CaseRecord | View, about: str = "progress") -> Drafted:
    found = drafted(made if isinstance(made, View) else view_of(made), about)
    assert found is not None
    return found


def line(made: Builder | View, number: int, about: str = "progress") -> str:
    return letter(made, about).lines[number - 1]


# --- the whole demonstration ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def every() -> list[View]:
    return [view_of(record) for record in records(demo())]


@pytest.mark.parametrize("about", TO_A_COLLEAGUE)
def test_every_case_has_eight_plain_lines(every: list[View], about: str) -> None:
    judging = re.compile(rf"\b({'|'.join(JUDGING.split())})\b", re.IGNORECASE)
    for view in every:
        made = letter(view, about)
        assert len(made.lines) == 8
        for said in made.lines:
            assert said.endswith(".")
            assert ".." not in said
            assert "  " not in said
            assert "None" not in said.replace("None booked", "")
            assert not judging.search(said), said
        assert len(text_of(made.lines) or "") < LETTER_LONGEST


def test_a_letter_holds_no_date_and_no_number_that_is_not_on_record(every: list[View]) -> None:
    """Lines 2 to 5: dates are those of entries; numbers are values, their differences, figures or counts."""
    for view in every:
        days = {day_year(on) for on in _days(view)}
        for said in letter(view).lines[1:5]:
            found = set(re.findall(r"\b\d{1,2} [A-Z][a-z]{2} \d{4}\b", said))
            assert found <= days, (view.record.code, found - days)
        known = _numbers(view)
        for said in letter(view).lines[2:5]:
            bare = re.sub(r"\b\d{1,2} [A-Z][a-z]{2} \d{4}\b|\(24 h\)|new 0-48|-7 to \+7", "", said)
            told = {abs(Decimal(n)) for n in re.findall(r"\d+(?:\.\d+)?", bare)}
            assert told <= known, (view.record.code, told - known, said)


def _days(view: View) -> Iterator[date]:
    record = view.record
    for name in ("visits", "measures", "scores", "sessions", "medicines"):
        yield from (entry.on for entry in view.upto(name))
    for name in ("appointments", "attendances"):
        yield from (slot.booked_for for slot in view.upto(name))
    yield record.registered_on


def _numbers(view: View) -> set[Decimal]:
    """What a line may hold: values of one measure or score and what lies between two of them, and figures."""
    by_name: dict[str, set[Decimal]] = {}
    for measure in view.upto("measures"):
        if not isinstance(measure.value, Absence):
            by_name.setdefault(measure.name, set()).add(measure.value)
    for score in view.upto("scores"):
        if isinstance(score.total, Decimal):
            by_name.setdefault(score.instrument, set()).add(score.total)
    found = {abs(a - b) for values in by_name.values() for a in (0, *values) for b in values}
    pains = {getattr(s, name) for s in view.upto("sessions") for name in ("during", "later", "morning")}
    pains |= {morning.pain for morning in view.upto("mornings")}
    found |= {Decimal(pain) for pain in pains if isinstance(pain, int)}
    for spec in view.instruments.values():
        figures = (spec.response, spec.detectable, spec.detectable_single)
        found |= {spec.low, spec.high, *(f.value for f in figures if f)}
    errors = ("drift.same_watch", "drift.other_watch", "strength.error_same", "strength.error_other")
    return found | {Decimal(view.rules[name]) for name in errors} | {Decimal(n) for n in range(4)}


def test_what_is_dangerous_is_never_left_out_and_begins_the_sixth_line(every: list[View]) -> None:
    """BY-012 has two possible red flags, BY-003 a broken limit; others an injury that nobody has assessed."""
    spoken: set[str] = set()
    for view in every:
        for about in TO_A_COLLEAGUE:
            made = letter(view, about)
            assert unsaid(view, made.lines) == []
        left = unsaid(view, [])
        if left:
            spoken.add(view.record.code)
            assert letter(view).lines[5].startswith(left[0].partition(":")[0])
    assert {"BY-003", "BY-007", "BY-012", "BY-015"} <= spoken


# --- state, plan, ask -----------------------------------------------------------------------------------


def test_an_open_flag_begins_its_line_and_is_missed_where_it_was_taken_out() -> None:
    made = case("PO2", day=10, ordered=True).screen(-1, "hot or swollen joint, or unwell", "yes")
    said = line(made, 6)
    assert said.startswith(
        'Possible red flag, no outcome recorded: "hot or swollen joint, or unwell" of 1 Mar 2026. Stage PO2'
    )
    assert "what you find about the possible red flag" in line(made, 8)
    view = view_of(made)
    kept = letter(view).lines
    assert unsaid(view, kept) == []
    assert unsaid(view, [*kept[:5], "", *kept[6:]]) == [
        'Possible red flag, no outcome recorded: "hot or swollen joint, or unwell" of 1 Mar 2026'
    ]


def test_a_broken_healing_limit_asks_for_the_readers_opinion() -> None:
    """A wall walk on day 19 after a repair is a breach (ruling 83); without one nothing is asked."""
    made = case("PO2", day=5, onset=19, ordered=True)
    assert line(made, 8) == "Asked of you: nothing."
    broken = made.session(-1, 1, 1, None, A1=(2, 10))
    assert line(broken, 8) == "Asked of you: your opinion on the broken healing limit."


def test_how_an_episode_ended() -> None:
    """A return within 90 days goes on in the same episode: 25 Feb 2026 + 90 days is 26 May 2026."""
    made = case("RC4", day=30).finding(-5, "open access set").discharge(-5)
    assert line(made, 7, "discharge") == (
        "Discharged 25 Feb 2026: goal met. Last measures recorded. Open access: yes, 25 Feb 2026."
        " A return for the same problem by 26 May 2026 goes on in this episode."
    )
    assert "Open access: not recorded." in line(case("RC4", day=30).discharge(-5), 7)
    assert line(made, 8, "discharge") == "Asked of you: nothing."
    assert letter(made, "discharge").copy == ""


def test_what_a_referral_asks() -> None:
    made = case("RC2", day=40, referrer="general practitioner")
    made.referral(-3, "image cuff", to="Dr A, radiology", urgency="soon", note="full tear or not?")
    said = letter(made, "referral")
    assert (said.to, said.copy) == ("the imaging department", "the GP")
    assert said.lines[7] == (
        "Asked of you: soon, about image cuff: full tear or not? (referred 27 Feb 2026)."
    )
    assert "an answer to the referral of 27 Feb 2026 about image cuff" in line(made, 8, "progress")
    assert "not recorded, no referral is on record" in line(case("RC2"), 8, "referral")


def test_a_surgeon_is_asked_for_orders_that_are_missing() -> None:
    assert "your written orders, which are not recorded" in line(case("PO2", ordered=False), 8)


def test_a_case_that_was_never_seen() -> None:
    said = letter(waiting(referrer="self")).lines
    assert "Self-referred, registered 10 Feb 2026." in said[0]
    assert said[1].startswith("First visit: not yet. 0 visits missed.")
    assert "not recorded" in said[2]


# --- whom it is for -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("general practitioner", "the GP"),
        ("GP", "the GP"),
        ("Orthopaedic surgeon", "the surgeon"),
        ("surgeon, Mr Brown", "the surgeon"),
        ("emergency department", "the emergency department"),
        ("fracture clinic", "the fracture clinic"),
        ("Dr Brown", ""),
        ("B. Jones", ""),
        ("", ""),
    ],
)
def test_a_reader_is_a_kind_and_never_a_name(words: str, kind: str) -> None:
    assert kind_of(words) == kind
    made = letter(case("RC2", referrer=words or "self"))
    assert made.to == (kind or ("the referrer" if words else "the GP"))
    assert not re.search("Brown|Jones", " ".join((*made.lines, made.to)))


# --- missed visits --------------------------------------------------------------------------------------


def test_the_letter_after_missed_visits() -> None:
    """Practice note 1.5: 14 days from 2 Mar 2026 are 16 Mar; a clinician decides; copy to the referrer."""
    made = case("RC2", day=60, last_visit=40, referrer="GP").missed(-12).missed(-5)
    said = letter(made, "missed visits")
    assert (said.to, said.copy, len(said.lines)) == ("the patient", "the GP", 8)
    assert said.lines[1] == (
        "Booked for Wed 18 Feb, Wed 25 Feb, and missed. The last visit was on Wed 21 Jan."
    )
    assert said.lines[3] == "Please ring us or write to us by Mon 16 Mar: that is in 14 days."
    assert said.lines[4] == (
        "If we hear nothing, we decide after that day if treatment ends. It does not end by itself."
    )
    assert said.lines[7] == "No visit is booked now. We send a copy to whoever sent you to us."


def test_nobody_gets_a_copy_who_sent_nobody() -> None:
    made = case("RC2", day=60, last_visit=40, referrer="self").missed(-5)
    said = letter(made, "missed visits")
    assert (said.copy, said.lines[7]) == ("", "No visit is booked now.")
    made.onset(-20, "surgery").step(-20, "PO1", "placing")
    assert letter(made, "missed visits").copy == "the surgeon"


def test_a_minor_is_not_written_to_and_a_red_flag_is_told_in_the_patients_words() -> None:
    made = case("RC2", day=60, age_band="16-17").missed(-5, "was not brought")
    assert letter(made, "missed visits").to == "the parent or carer"
    made = case("RC2", day=60).missed(-5).screen(-3, "hot or swollen joint, or unwell", "yes")
    assert "until you have been seen" in line(made, 6, "missed visits")


def test_the_letter_to_the_patient_is_in_the_clinics_words_and_read_at_eleven() -> None:
    """By the formula of Flesch and Kincaid (``reading_age.py``), its list of reasons to ring apart."""
    made = case("RC2", day=60, last_visit=40).missed(-12).missed(-5).record()
    german = replace(rules(), words=read_words(Path("tests/store/words/german.toml")))
    said = letter(View.of(made, german, TODAY), "missed visits").lines
    assert said[0].startswith("In diesem Brief geht es um die Behandlung der rechten Schulter")
    assert len(said) == 8
    english = letter(made, "missed visits").lines
    assert reading_age([*english[1:5], english[7]]) < 12


# --- suppressed, and what a draft goes on from ----------------------------------------------------------


def test_no_letter_is_drafted_for_a_case_closed_by_death() -> None:
    """Practice note 4.13, row 27."""
    view = view_of(case("RC2").discharge(-2, "died"))
    assert [drafted(view, about) for about in ABOUT] == [None] * 4
    assert suppressed(view) == "The case is closed by death: no letter is drafted, and none is owed."
    assert suppressed(view_of(case("RC2").discharge(-2))) == ""


def test_a_draft_is_gone_on_with_until_a_letter_is_sent() -> None:
    made = case("RC4", day=30, last_visit=9).discharge(-5).letter(-5, state="draft", body="one ¶ two")
    view = view_of(made)
    waiting_draft = open_draft(view, "discharge")
    assert waiting_draft is not None
    assert waiting_draft.lines == ("one", "two")
    assert open_draft(view, "progress") is None
    assert recorded_since(view, waiting_draft) == "nothing"
    made.score(-2, "SPADI", 12).measure(-2, ROTATION, 66).measure(-2, "worst_pain", 1)
    view = view_of(made)
    assert recorded_since(view, waiting_draft) == "3 entries (2 of measure, score)"
    made.letter(-1, state="sent")
    view = view_of(made)
    assert open_draft(view, "discharge") is None
    last = latest(view, "discharge")
    assert last is not None
    assert last.state == "sent"


def test_a_letter_that_is_said_to_have_gone_takes_the_text_that_waited() -> None:
    made = case("RC4", day=30).letter(-5, "referral", state="draft", body="one ¶ two")
    gone = {"about": "referral", "state": "sent"}
    assert as_sent(view_of(made), "referral") == {**gone, "body": "one ¶ two"}
    assert as_sent(view_of(made), "progress") == {**gone, "about": "progress"}
    assert as_sent(view_of(made.letter(-1, "referral")), "referral") == gone


def test_a_draft_without_its_text_is_nothing_to_go_on_from() -> None:
    assert open_draft(view_of(case("RC4", day=30).letter(-5, state="draft")), "discharge") is None


def test_the_lines_of_a_text_come_back_as_they_went_in() -> None:
    lines = ("One, two.", "é ü ñ", "  blanks   within ", "a ¶ b", "")
    assert lines_of(text_of(lines) or "") == ("One, two.", "é ü ñ", "blanks within", "a b")
    assert text_of(["", "  "]) is None
    assert lines_of("") == ()


def test_the_command_offers_what_the_record_knows() -> None:
    assert OF_THE_COMMAND == ABOUT


def test_a_letter_is_the_same_in_any_order_of_entries() -> None:
    made = case("RC2", day=84).measure(-84, ROTATION, 40).measure(0, ROTATION, 55)
    first = letter(made).lines
    made.entries.reverse()
    assert letter(made).lines == first
