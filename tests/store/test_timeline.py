"""The history of a case: everything ever written, what became of it, and what rested on it.

Expected behaviour: sections 4.13 (4, 8) and 6.2 of the clinic's practice notes.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from armrise.store.caseload.read import UnknownCase, case
from armrise.store.caseload.timeline import Told, read_timeline
from armrise.store.caseload.write import REASON_LONGEST, Ledger, Refused, moved_words
from armrise.store.database.place import Store
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from tests.clinic.build import rules
from tests.store.drafts import TODAY, Clock, draft, head

BEFORE = TODAY - timedelta(days=10)


@pytest.fixture
def ledger(store: Store) -> Ledger:
    made = Ledger(store, "TK", Clock(), rules())
    for code in ("T-1", "T-2"):
        made.register(head(code))
        made.append(code, [draft("visit", BEFORE), draft("step", BEFORE, stage="RC1", direction="placing")])
    return made


def told(store: Store, code: str = "T-1") -> list[Told]:
    return list(read_timeline(store, code, rules(), TODAY).told)


def of(store: Store, entry_id: int, code: str = "T-1") -> Told:
    found = read_timeline(store, code, rules(), TODAY).of(entry_id)
    assert found is not None
    return found


def range_of(value: int, name: str = "passive_external_rotation", **more: object) -> Entry:
    return draft("measure", name=name, value=Decimal(value), rater="TK", **more)


def test_an_entry_replaced_stays_and_leads_to_what_stands_instead(store: Store, ledger: Ledger) -> None:
    (wrong,) = ledger.append("T-1", [range_of(45)])
    right, why = ledger.correct(wrong, "wrong side", range_of(45, side="RIGHT"))
    gone, stands, correction = of(store, wrong), of(store, right), of(store, why)
    assert gone.withdrawn_by is not None
    assert (gone.withdrawn_by.reason, gone.withdrawn_by.author) == ("wrong side", "TK")
    assert gone.replaced_by is not None
    assert gone.replaced_by.id == right
    assert stands.replaces is not None
    assert stands.replaces.id == wrong
    assert stands.withdrawn_by is None
    assert correction.corrects is not None
    assert correction.corrects.id == wrong
    assert stands.batch == correction.batch == right
    assert [e.id for e in case(store, "T-1").measures] == [right]


def test_a_correction_undone_lets_the_entry_stand_again(store: Store, ledger: Ledger) -> None:
    (wrong,) = ledger.append("T-1", [range_of(45)])
    right, why = ledger.correct(wrong, "wrong side", range_of(40))
    ledger.undo("T-1")
    assert of(store, wrong).withdrawn_by is None
    assert of(store, right).withdrawn_by is not None
    assert of(store, why).withdrawn_by is not None
    assert of(store, right).replaces is None


def test_entries_are_in_order_of_day_and_id(store: Store, ledger: Ledger) -> None:
    late, early = ledger.append("T-1", [range_of(45), replace(range_of(44), on=BEFORE)])
    order = [one.entry.id for one in told(store)]
    assert order.index(early) < order.index(late)
    assert order == sorted(order, key=lambda i: (of(store, i).entry.on, i))


def test_what_is_told_late_says_how_late(store: Store, ledger: Ledger) -> None:
    """Practice note 4.13, case 4; a next morning is told a day later and is not late."""
    six = replace(draft("morning", pain=3), on=TODAY - timedelta(days=6))
    usual = draft("session", TODAY - timedelta(days=1), during=2, later=2, morning=2)
    first, second = ledger.append("T-1", [six, usual])
    assert of(store, first).days_late == 6
    assert of(store, second).days_late == 0


def test_the_same_check_in_twice_is_questioned(store: Store, ledger: Ledger) -> None:
    """Practice note 4.13, case 8."""
    same = {"during": 3, "later": 2}
    (one,) = ledger.append("T-1", [draft("session", **same)])
    (two,) = ledger.append("T-1", [draft("session", **same)])
    (other,) = ledger.append("T-1", [draft("session", during=4, later=2)])
    assert [of(store, one).duplicate, of(store, two).duplicate, of(store, other).duplicate] == [
        True, True, False]  # fmt: skip


def test_contradicting_values_name_each_other(store: Store, ledger: Ledger) -> None:
    """Practice note 4.12: active above passive by more than 5 degrees."""
    active, passive = ledger.append(
        "T-1", [range_of(120, "active_flexion"), range_of(100, "passive_flexion")]
    )
    found = of(store, active).contradiction
    assert found is not None
    assert found.against.id == passive
    back = of(store, passive).contradiction
    assert back is not None
    assert back.against.id == active
    ledger.correct(active, "confirmed as measured", range_of(120, "active_flexion", confirmed=True))
    assert of(store, active).contradiction is None


def test_a_verdict_given_before_a_correction_is_marked(store: Store, ledger: Ledger) -> None:
    """Practice note 6.2: it stays as it was, marked as based on a value later corrected."""
    (first,) = ledger.append("T-1", [range_of(45)])
    (stayed,) = ledger.append(
        "T-1", [draft("override", against="READY", category="patient goal", reason="one more settled week")]
    )
    (after,) = ledger.append("T-1", [range_of(50)])
    assert of(store, stayed).resting_on == ()
    ledger.correct(after, "typed wrong")
    assert of(store, stayed).resting_on == ()
    ledger.correct(first, "typed wrong")
    assert [e.id for e in of(store, stayed).resting_on] == [first]


def test_a_placing_has_no_verdict_to_mark(store: Store, ledger: Ledger) -> None:
    visit, step = [one.entry.id for one in told(store)]
    ledger.correct(visit, "wrong interval", draft("visit", BEFORE, interval=14))
    assert of(store, step).resting_on == ()


def test_an_entry_of_another_patient_is_moved_in_one_action(store: Store, ledger: Ledger) -> None:
    """Practice note 6.2: a paired withdraw and re-enter with reason, both visible."""
    (wrong,) = ledger.append("T-1", [range_of(45)])
    arrived, gone = ledger.move(wrong, "opened the wrong case", "T-2", range_of(45))
    assert case(store, "T-1").measures == ()
    assert [m.id for m in case(store, "T-2").measures] == [arrived]
    here = of(store, wrong)
    assert here.withdrawn_by is not None
    assert here.withdrawn_by.reason == "belongs to T-2, was entered in T-1: opened the wrong case"
    assert here.moved_to is not None
    assert (here.moved_to.code, here.moved_to.entry_id) == ("T-2", arrived)
    there = of(store, arrived, "T-2").moved_from
    assert there is not None
    assert (there.code, there.entry_id) == ("T-1", gone)
    assert "opened the wrong case" in there.reason


def test_a_move_is_undone_in_both_cases(store: Store, ledger: Ledger) -> None:
    (wrong,) = ledger.append("T-1", [range_of(45)])
    ledger.move(wrong, "wrong case", "T-2", range_of(45))
    ledger.undo("T-2")
    assert [m.id for m in case(store, "T-1").measures] == [wrong]
    assert case(store, "T-2").measures == ()


def test_a_move_corrected_over_there_is_not_undone_by_halves(store: Store, ledger: Ledger) -> None:
    (wrong,) = ledger.append("T-1", [range_of(45)])
    arrived, _ = ledger.move(wrong, "wrong case", "T-2", range_of(45))
    ledger.correct(arrived, "typed wrong", range_of(54))
    with pytest.raises(Refused, match="corrected in the other case"):
        ledger.undo("T-1")
    assert case(store, "T-1").measures == ()


@pytest.mark.parametrize(
    ("to", "error", "words"),
    [
        ("T-1", Refused, "in T-1 already"),
        ("T-9", UnknownCase, 'no case "T-9"'),
    ],
)
def test_a_move_that_cannot_be_writes_nothing(
    store: Store, ledger: Ledger, to: str, error: type[Exception], words: str
) -> None:
    (wrong,) = ledger.append("T-1", [range_of(45)])
    with pytest.raises(error, match=words):
        ledger.move(wrong, "wrong case", to, range_of(45))
    assert [m.id for m in case(store, "T-1").measures] == [wrong]


def test_what_the_other_case_refuses_stays_where_it_was(store: Store, ledger: Ledger) -> None:
    (wrong,) = ledger.append("T-1", [range_of(45)])
    with pytest.raises(Refused, match="before the episode began"):
        ledger.move(wrong, "wrong case", "T-2", replace(range_of(45), on=date(2025, 1, 1)))
    assert [m.id for m in case(store, "T-1").measures] == [wrong]
    assert case(store, "T-2").measures == ()


def test_the_reason_of_a_move_fits_what_a_reason_may_hold() -> None:
    rule = next(f for f in Correction.__dataclass_fields__.values() if f.name == "reason").metadata["rule"]
    assert rule.longest == REASON_LONGEST
    assert len(moved_words("C" * 24, "D" * 24, "r" * 200)) == REASON_LONGEST


def test_a_case_nobody_has_is_said(store: Store) -> None:
    with pytest.raises(UnknownCase):
        read_timeline(store, "NONE", rules(), TODAY)
