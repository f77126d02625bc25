"""The eight lines of a letter, against published patients and published errors of measurement.

Sources
- Practice notes of the clinic: 1.5 (14 days to reply, a clinician decides, copy to the referrer), 1.7, 8.11
  (eight plain lines, no adjectives), 4.13 rows 27, 36 and 37.
- Eleven patients: Major DH et al., Pilot and Feasibility Studies 2021;7:31, doi 10.1186/s40814-021-00767-6,
  table 3, week 0 and week 12 (the rows of ``test_published_cases``).
- SPADI: 13 is a response, 18 the detectable change, Roy 2009 Arthritis Rheum 61:623.
- Range by two observers: under 20 degrees is error, de Winter 2004 BMC Musculoskelet Disord 5:18. By one, 8
  to 9 degrees by inclinometer in healthy shoulders, Kolber 2011: 10 here.
- Strength by hand-held dynamometer: detectable 13 to 24 per cent, Phys Ther Sport 2016;21:75: 15 and 25 here.
  One athlete's prone rotation 16.5 to 21.0 kg, bjsm.bmj.com highwire 113540.
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
from armrise.tui.command.letter import ABOUT as OF_THE_COMMAND
from tests.clinic.build import TODAY, Builder, case, rules, waiting
from tests.clinic.demo_records import demo, records
from tests.clinic.reading_age import reading_age
from tests.clinic.test_published_cases import ROWS

TO_A_COLLEAGUE = tuple(about for about in ABOUT if about != "missed visits")
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


# --- pain and scores: published patients ----------------------------------------------------------------


def patient(number: int) -> Builder:
    """One of the eleven: SPADI, PSFS and worst pain at week 0 and week 12, both on days of visits."""
    made = case("RC2", day=84, last_visit=0, scored=False, referrer="general practitioner")
    for name, totals in zip(("SPADI", "PSFS", "worst_pain"), ROWS[number], strict=True):
        for day, total in zip((-84, 0), totals, strict=True):
            if total is not None:
                scored = name != "worst_pain"
                made = made.score(day, name, total) if scored else made.measure(day, name, total)
    return made


SPADI = {
    1: ("56 on 8 Dec 2025, 3 on 2 Mar 2026, change 53 toward better", "reaches", "beyond"),
    3: ("67 on 8 Dec 2025, 46 on 2 Mar 2026, change 21 toward better", "reaches", "beyond"),
    4: ("43 on 8 Dec 2025, 32 on 2 Mar 2026, change 11 toward better", "does not reach", "within"),
    5: ("20 on 8 Dec 2025, 5 on 2 Mar 2026, change 15 toward better", "reaches", "within"),
    8: ("22 on 8 Dec 2025, 23 on 2 Mar 2026, change 1 toward worse", "does not reach", "within"),
    9: ("38 on 8 Dec 2025, 22 on 2 Mar 2026, change 16 toward better", "reaches", "within"),
}
"""By hand: 56 - 3 = 53, 67 - 46 = 21, 43 - 32 = 11, 20 - 5 = 15, 22 - 23 = -1, 38 - 22 = 16; 13 and 18."""


@pytest.mark.parametrize("number", SPADI)
def test_the_score_of_a_published_patient(number: int) -> None:
    change, response, error = SPADI[number]
    said = line(patient(number), 5)
    assert said.startswith(f"SPADI (0 to 100, lower is better, mean of subscales): {change}, ")
    assert f"{response} the threshold 13, {error} error 18. PSFS" in said


def test_the_function_of_a_published_patient() -> None:
    """Case 8: PSFS 2.7 to 3.3, which is 0.6 and neither a response (2) nor beyond error (2)."""
    assert (
        "PSFS (0 to 10, higher is better): 2.7 on 8 Dec 2025, 3.3 on 2 Mar 2026, change 0.6 toward better,"
        " does not reach the threshold 2, within error 2 (from memory)." in line(patient(8), 5)
    )


@pytest.mark.parametrize(
    ("number", "said"),
    [(1, "5 to 0, change -5, beyond"), (3, "9 to 6, change -3, beyond"), (8, "2 to 3, change +1, within")],
)
def test_the_pain_of_a_published_patient(number: int, said: str) -> None:
    """NPRS 5 to 0, 9 to 6, 2 to 3; three points are the error, at the limit included."""
    assert f"8 Dec 2025 to 2 Mar 2026: worst pain (24 h) {said} error 3 (from memory)." in line(
        patient(number), 3
    )


def test_a_patient_who_was_lost_has_one_total_and_no_change() -> None:
    """Case 11: SPADI 65 and pain 6 at week 0, nothing at week 12."""
    assert "65 on 8 Dec 2025, no other total." in line(patient(11), 5)
    assert "8 Dec 2025 alone: worst pain (24 h) 6." in line(patient(11), 3)
    assert "Night waking not recorded." in line(patient(11), 3)


def test_pain_told_as_a_score_stands_in_the_line_of_pain() -> None:
    made = case("RC2", day=84, last_visit=0, scored=False).score(-84, "NRS", 5).score(0, "NRS", 0)
    assert "NRS (0 to 10, lower is better): 5 on 8 Dec 2025, 0 on 2 Mar 2026, change 5" in line(made, 3)


def test_a_form_without_a_total_is_said_to_have_none() -> None:
    made = case("RC2", day=84, scored=False).score(-84, "SPADI", 50).score(-2, "SPADI", None)
    assert "50 on 8 Dec 2025, no other total; 28 Feb 2026: form incomplete, no total." in line(made, 5)
    assert "SPADI: not recorded." in line(case("RC2", scored=False), 5)
    made = case("RC2", day=84, scored=False).score(-2, "SPADI", Absence.DECLINED)
    assert "28 Feb 2026: total declined." in line(made, 5)


def test_totals_of_two_forms_are_not_compared() -> None:
    made = case("RC2", day=84, scored=False)
    made.score(-84, "SPADI", 50, version="one").score(-2, "SPADI", 20, version="two")
    assert "20 on 28 Feb 2026; not comparable (version: one, then two)" in line(made, 5)
    assert "change" not in line(made, 5)


# --- contradictions -------------------------------------------------------------------------------------


def test_a_score_against_the_patient_comes_first_and_both_go_in() -> None:
    """Practice note 4.13, row 37: SPADI 60 to 20, the patient's own answer -3."""
    made = case("RC2", day=84, last_visit=0, scored=False)
    made.score(-84, "SPADI", 60).score(0, "SPADI", 20).score(0, "GROC", -3)
    said = line(made, 5)
    assert said.startswith("Contradiction: the score and the patient's own global change disagree. SPADI")
    assert "change 40 toward better" in said
    assert said.endswith("Patient's own answer (GROC, -7 to +7): -3 on 2 Mar 2026.")


def test_a_value_above_the_passive_one_comes_first() -> None:
    made = case("RC2", day=40).measure(-2, "active_flexion", 150).measure(-2, "passive_flexion", 120)
    said = line(made, 4)
    assert said.startswith(
        "Contradiction: active range above passive on the same day, 28 Feb 2026, not confirmed."
    )


# --- range and strength: published errors ---------------------------------------------------------------

ROTATION = "passive_external_rotation"


@pytest.mark.parametrize(
    ("first", "last", "raters", "said"),
    [
        (40, 49, ("TK", "TK"), "40 to 49, change +9, within error 10."),
        (40, 50, ("TK", "TK"), "40 to 50, change +10, beyond error 10."),
        (60, 45, ("TK", "TK"), "60 to 45, change -15, beyond error 10."),
        (40, 55, ("TK", "RS"), "40 to 55, change +15, within error 20, not by one rater."),
        (40, 60, ("TK", "RS"), "40 to 60, change +20, beyond error 20, not by one rater."),
        (40, 55, (None, None), "40 to 55, change +15, within error 20, not by one rater."),
    ],
)
def test_range_beside_the_error_of_one_and_of_two_raters(
    first: int, last: int, raters: tuple[str | None, str | None], said: str
) -> None:
    made = case("RC2", day=40, last_visit=0)
    made.measure(-40, ROTATION, first, rater=raters[0]).measure(0, ROTATION, last, rater=raters[1])
    assert f"21 Jan 2026 to 2 Mar 2026: passive external rotation at side {said}" in line(made, 4)


@pytest.mark.parametrize(
    ("first", "last", "raters", "said"),
    [
        ("16.5", "21.0", ("TK", "TK"), "16.5 to 21 kg, change +4.5, beyond error 15 per cent."),
        ("16.5", "21.0", ("TK", "RS"), "beyond error 25 per cent, not by one rater."),
        ("10", "11.4", ("TK", "TK"), "10 to 11.4 kg, change +1.4, within error 15 per cent."),
        ("10", "11.5", ("TK", "TK"), "10 to 11.5 kg, change +1.5, beyond error 15 per cent."),
        ("10", "12.4", ("TK", "RS"), "within error 25 per cent, not by one rater."),
    ],
)
def test_strength_beside_its_error(first: str, last: str, raters: tuple[str, str], said: str) -> None:
    """16.5 to 21.0 kg is 27 per cent: beyond both. 15 per cent of 10 kg are 1.5 kg, 25 are 2.5."""
    made, name = case("RC3", day=40, last_visit=0), "external_rotation_strength"
    made.measure(-40, name, first, rater=raters[0]).measure(0, name, last, rater=raters[1])
    assert said in line(made, 4)


def test_the_other_side_and_what_is_not_there_are_said() -> None:
    made = case("RC2", day=40, last_visit=0)
    made.both(-40, ROTATION, 40, 65).measure(0, ROTATION, 60)
    made.measure(0, "external_rotation_strength", Absence.PROHIBITED)
    said = line(made, 4)
    assert "passive external rotation at side 40 to 60 (other side 65), change +20" in said
    assert "Active flexion not recorded." in said
    assert "External rotation strength prohibited on 2 Mar 2026." in said


def test_a_later_absence_a_repeat_and_another_device_are_said() -> None:
    made = case("RC2", day=40, last_visit=0).measure(-40, ROTATION, 40).measure(-10, ROTATION, 55)
    assert line(made.measure(0, ROTATION, Absence.DECLINED), 4).count("declined on 2 Mar 2026") == 1
    made = case("RC2", day=40, last_visit=0).measure(-40, ROTATION, 40)
    made.measure(-10, ROTATION, 55, method="inclinometer").measure(0, ROTATION, 58, method="inclinometer")
    assert "55 to 58, change +3, within error 10, 1 more value not compared" in line(made, 4)
    made = case("RC2", day=40).measure(-40, ROTATION, 40).measure(-10, ROTATION, 50)
    assert "repeated on 2 Mar 2026, not measured" in line(made.measure(0, ROTATION, 50, repeated=True), 4)


def test_values_before_an_operation_are_no_yardstick() -> None:
    made = case("RC3", day=60, last_visit=0).measure(-60, "worst_pain", 9)
    made.onset(-20, "surgery", operation="cuff repair").step(-20, "PO1", "placing").visit(-10)
    said = letter(made.measure(-10, "worst_pain", 5).measure(0, "worst_pain", 4))
    assert "worst pain (24 h) 5 to 4" in said.lines[2]
    assert "Surgery 10 Feb 2026, cuff repair (day 20)" in said.lines[0]
    assert said.to == "the surgeon"


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
    made = patient(1).measure(-84, ROTATION, 40).measure(0, ROTATION, 55)
    first = letter(made).lines
    made.entries.reverse()
    assert letter(made).lines == first
