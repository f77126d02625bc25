"""The eight clarifications of the practice notes (section 11), which stand over the sections before them."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from armrise.store.caseload.read import board, standings
from armrise.store.caseload.write import Ledger
from armrise.store.clinic.standing.stand import stand
from armrise.store.database.place import Store
from armrise.store.entries.words import CaseHead
from armrise.store.exchange.out.listing import on_list
from armrise.store.record.kinds.safety import Screen
from armrise.store.rules.read import SHIPPED, RuleFileError, load
from armrise.store.rules.tiers import TIERS
from tests.clinic.build import TODAY, WORDS, case, codes, live, reason, rules, standing_of, waiting
from tests.clinic.build_more import live_codes, twos

MASS = "mass, cancer history, weight loss or unrelenting night pain"
ROTATION = "passive_external_rotation"

# --- 11.1 days open --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("last", "code", "days"), [(41, "OVD1", 20), (42, "OVD2", 21), (50, "OVD2", 29)])
def test_clarification_1_overdue_counts_from_the_due_date(last: int, code: str, days: int) -> None:
    """Also after "review overdue" has grown into "overdue by a whole interval" (interval 21)."""
    made = case("RC2", day=20, first=60, last_visit=last, interval=21)
    assert reason(standing_of(made), code).days_open == days


def test_clarification_1_silence_counts_from_its_threshold() -> None:
    """40 days with nothing, threshold 28: 12 days (demonstration row BY-066)."""
    diary = case("OA3", day=40, last_visit=None).morning(-43, 2)  # without one it counts later (ruling 95)
    assert ("SIL", 40, 12) in live(standing_of(diary))


def test_clarification_1_other_reasons_count_from_the_first_unbroken_day() -> None:
    """Found with what is known now: a red flag of six days ago that was recorded today is six days open."""
    made = case("RC2", day=20).screen(-6, MASS, "yes", recorded=0)
    assert reason(standing_of(made), "RED").days_open == 6


def test_clarification_1_a_break_ends_the_stretch() -> None:
    """Cleared on -4 and said again on -2: open for two days."""
    made = case("RC2", day=20).screen(-6, MASS, "yes").flag_outcome(-4, MASS).screen(-2, MASS, "yes")
    assert reason(standing_of(made), "RED").days_open == 2


# --- 11.2 one reason at a time ---------------------------------------------------------------------------


def test_clarification_2_watch_is_not_raised_beside_act() -> None:
    """Rotation at act level, flexion at watch level: one drift reason."""
    made = case("RC2", day=22).measure(-20, ROTATION, 60).measure(-20, "passive_flexion", 160)
    made.measure(-9, ROTATION, 44).measure(-1, ROTATION, 44).measure(-1, "passive_flexion", 150)
    assert [c for c in live_codes(made) if c in ("STF", "WAT")] == ["STF"]


@pytest.mark.parametrize(("last", "expected"), [(41, ["OVD1"]), (42, ["OVD2"])])
def test_clarification_2_overdue_reasons_exclude_each_other(last: int, expected: list[str]) -> None:
    """20 of 21 days over, or 21 of 21."""
    made = case("RC2", day=20, first=60, last_visit=last, interval=21)
    assert [c for c in live_codes(made) if c in ("OVD1", "OVD2")] == expected


@pytest.mark.parametrize(("stage", "expected"), [("PO3", "LOST"), ("PO4", "DNA")])
def test_clarification_2_out_of_sight_stands_for_missed_visits(stage: str, expected: str) -> None:
    """In a protected stage a missed visit is "out of sight", elsewhere "missed visit unanswered"."""
    made = case(stage, day=20, last_visit=13).missed(-9).missed(-2)
    assert [c for c in live_codes(made) if c in ("LOST", "DNA")] == [expected]


# --- 11.3 who is on the list -----------------------------------------------------------------------------


def test_clarification_3_who_is_on_the_list() -> None:
    """Active cases and cases on hold, whatever they carry; closed ones that still owe something."""
    active, held = case("RC2", day=20), case("RC2", day=20).hold(-1, 9)
    assert [codes(standing) for standing in on_list([standing_of(active), standing_of(held)])] == [[], []]
    closed = case("RC4", day=40, last_visit=21).discharge(-20, letter=False)
    assert not on_list([standing_of(closed)])
    assert on_list([standing_of(case("RC4", day=40, last_visit=21).discharge(-20))])
    assert on_list([standing_of(closed.contact(-2, "message received"))])


def test_clarification_3_a_sent_letter_takes_the_closed_case_off() -> None:
    """Nothing owed any more."""
    made = case("RC4", day=40, last_visit=21).discharge(-20).letter(-15)
    assert not on_list([standing_of(made)])


def test_clarification_3_each_case_says_what_it_is() -> None:
    """The header counts active, on hold and closed-but-owing apart."""
    assert standing_of(case("RC2")).status == "active"
    assert standing_of(case("RC2").hold(0, 5)).status == "on hold"
    assert standing_of(case("RC4", day=40, last_visit=21).discharge(-20)).status == "closed"
    assert standing_of(waiting()).status == "waiting"


# --- 11.4 outcome score due ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "first", "owed"),
    [
        ("RC3", 42, []),
        ("RC3", 43, [1]),
        ("RC3", 85, [1]),
        ("PO5", 183, [1]),
        ("FX4", 113, [1]),
        ("FX4", 112, [28]),
    ],
)
def test_clarification_4_score_due_from_the_first_treatment_visit(
    stage: str, first: int, owed: list[int]
) -> None:
    """Days 42 and 84, and the pathway's checkpoint (PO 182, FX 112), from the first treatment visit."""
    made = case(stage, day=20, first=first, onset=first + 5, scored=False)
    assert [r.severity for r in standing_of(made).reasons if r.code == "PRM"] == owed


def test_clarification_4_not_from_registration_or_injury() -> None:
    """Registered and operated long before: the first visit counts."""
    made = case("PO4", day=20, first=30, onset=110, scored=False)
    assert "PRM" not in live_codes(made)


# --- 11.5 pain limits of RC ------------------------------------------------------------------------------


@pytest.mark.parametrize("stage", ["RC2", "RC3", "RC4"])
def test_clarification_5_rc_limits(stage: str) -> None:
    """4 during, 4 later, 1 above baseline; RC1 is irritable and keeps 3/3/1."""
    found = rules().pathways["RC"].stage(stage)
    assert found is not None
    assert (found.limits.during.whole, found.limits.later.whole, found.limits.rise.whole) == (4, 4, 1)


@pytest.mark.parametrize(("during", "flare"), [(7, False), (8, True)])
def test_clarification_5_at_work(during: int, flare: bool) -> None:
    """Twice 7 is over the limit, twice 8 a flare (ruling 77)."""
    made = twos(case("RC2", day=20)).session(-4, during, 2, 2).session(-2, during, 2, 2)
    assert ("FLA" in live_codes(made)) is flare


# --- 11.6 linked sides -----------------------------------------------------------------------------------


def head(code: str, person: str, side: str) -> CaseHead:
    """One case of a person."""
    return CaseHead(
        code=code,
        person=person,
        side=side,
        pathway="RC",
        dominance="right",
        age_band="50s",
        clinician="TK",
        referrer="GP",
        registered_on=date(2026, 2, 20),
    )


def test_clarification_6_a_screen_answer_shows_on_both_cases_of_a_person(tmp_path: Path) -> None:
    """A red flag said at one side's visit is live on the other side's case, and on nobody else's."""
    now = datetime(2026, 3, 2, 9, tzinfo=UTC)
    store = Store.create(tmp_path / "clinic.armrise", zone="Europe/London")
    ledger = Ledger(store, "TK", lambda: now)
    for code, person, side in (("A-1", "P-1", "LEFT"), ("A-2", "P-1", "RIGHT"), ("B-1", "P-2", "LEFT")):
        ledger.register(head(code, person, side))
    flag = Screen(on=TODAY, recorded_at=now, recorded_on=TODAY, author="TK", item=MASS, answer="yes")
    ledger.append("A-1", [flag])
    seen = {s.code: codes(s) for s in standings(store, rules(), TODAY)}
    assert {code for code, found in seen.items() if "RED" in found} == {"A-1", "A-2"}
    assert {r.code: r.linked for r in board(store, today=TODAY)}["A-2"] == ("A-1",)
    second = next(r for r in board(store, today=TODAY) if r.code == "A-2")
    assert stand(second, rules(), TODAY).verdict.word.value == "REFER"


# --- 11.7 the rank table ---------------------------------------------------------------------------------


def edited(tmp_path: Path, before: str, after: str) -> Path:
    """A copy of the rule files with one line of the rank table changed."""
    folder = tmp_path / "rules"
    shutil.copytree(SHIPPED, folder)
    file = folder / "rules.toml"
    text = file.read_text(encoding="utf-8")
    lines = [one for one in text.splitlines() if one.replace(" ", "").startswith(f"{before}=")]
    assert len(lines) == 1, lines
    file.write_text(text.replace(lines[0], after), encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("code", "line"),
    [
        ("RED", 'RED = { rank = 2, tier = "today", name = "possible red flag" }'),
        ("RED", 'RED = { rank = 1, tier = "harm if left", name = "possible red flag" }'),
        ("INJ", 'INJ = { rank = 3, tier = "today", name = "new injury" }'),
        ("LIM", 'LIM = { rank = 3, tier = "contact owed", name = "healing limit broken" }'),
        ("LIM", 'LIM = { rank = 4, tier = "today", name = "healing limit broken" }'),
        ("FLA", 'FLA = { rank = 1, tier = "today", name = "flare not settling" }'),
    ],
)
def test_clarification_7_ranks_one_to_three_cannot_be_edited_away(
    tmp_path: Path, code: str, line: str
) -> None:
    """The file is refused, and the sentence names it and the reason."""
    with pytest.raises(RuleFileError, match=r"rules\.toml") as refused:
        load(edited(tmp_path, code, line))
    assert "\n" not in str(refused.value)


def test_clarification_7_a_name_or_a_lower_rank_is_data(tmp_path: Path) -> None:
    """What is not a safety rank may be renamed."""
    folder = edited(
        tmp_path, "WAT", 'WAT = { rank = 26, tier = "move on", name = "range to keep an eye on" }'
    )
    assert load(folder).ranks["WAT"].name == "range to keep an eye on"


def test_clarification_7_the_order_of_the_table() -> None:
    """Practice 2.2 with ruling 63, which leaves room between the ranks: the order counts."""
    table = sorted(rules().ranks.values(), key=lambda row: row.rank)
    assert [row.code for row in table] == list(WORDS)
    tiers = [row.tier for row in table]
    assert tiers == sorted(tiers, key=TIERS.index)


# --- 11.8 words ------------------------------------------------------------------------------------------


def test_clarification_8_words_of_the_reasons() -> None:
    """The words of the clarification, and ruling 58's for the message."""
    assert {code: row.name for code, row in rules().ranks.items()} == WORDS


def test_clarification_8_no_code_in_anything_a_person_reads() -> None:
    """Codes such as RED or OVD1 stay inside: no sentence, line or caution carries one."""
    made = case("PO2", day=32, last_visit=30).session(-1, 1, 1, None, R1=(3, 10)).missed(-5)
    made.screen(-1, MASS, "yes").event(-1, "fall").measure(-20, ROTATION, 60).measure(-1, ROTATION, 20)
    standing = standing_of(made)
    text = json.dumps([standing.verdict.line, *standing.cautions, *standing.limits, *standing.extra])
    text += json.dumps([r.sentence + r.name for r in standing.reasons])
    for word in WORDS:
        assert f'"{word}' not in text
        assert f" {word}" not in text
