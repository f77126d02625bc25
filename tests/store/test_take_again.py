"""A file taken into a store that has its cases: nothing is doubled, differs unsaid, or is half taken."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from armrise.store.caseload import read as caseload
from armrise.store.caseload.news import news
from armrise.store.caseload.refusal import Refused
from armrise.store.caseload.taking.part import Taken
from armrise.store.caseload.taking.take import take_whole, would_take
from armrise.store.caseload.timeline import read_timeline
from armrise.store.caseload.trial import everything
from armrise.store.caseload.whole import whole
from armrise.store.caseload.write import Ledger
from armrise.store.clinic.standing.explain import explain
from armrise.store.clinic.standing.stand import stand
from armrise.store.database import chain, desk
from armrise.store.database.place import Store
from armrise.store.entries.filed import Beside, CaseloadFile, FileCase
from armrise.store.exchange.into.caseload_file import parse
from armrise.store.record.kinds.paperwork import Correction
from armrise.store.rules.read import load
from tests.store import drafts
from tests.store.drafts import draft, head

RULES = load()
CODE = "T-1"
THEN: dict[str, Any] = {
    "recorded_at": datetime(2026, 2, 21, 9, tzinfo=UTC),
    "recorded_on": date(2026, 2, 21),
}
VISIT = draft("visit", date(2026, 2, 2), interval=21, **THEN)
PLACING = draft("step", date(2026, 2, 2), stage="RC2", direction="placing", **THEN)
SESSION = draft("session", date(2026, 2, 20), during=2, later=3, **THEN)


def file(*cases: FileCase) -> CaseloadFile:
    return CaseloadFile(drafts.TODAY, "Europe/London", False, "", cases)


def one(*entries: Any, **more: Any) -> CaseloadFile:
    return file(FileCase(head(**more), entries))


def counts(taken: Taken) -> tuple[int, int, int]:
    """New cases, new entries, entries known."""
    return len(taken.new_cases), taken.new, taken.known


def told(store: Store, code: str = CODE) -> list[Any]:
    return [one.entry for one in read_timeline(store, code, RULES, drafts.TODAY).told]


@pytest.fixture
def kept(store: Store, monkeypatch: pytest.MonkeyPatch) -> Store:
    """A store of its own past: its one case came in a file on 22 February; later files come on 2 March."""
    monkeypatch.setattr(chain, "utc_now", lambda: datetime(2026, 2, 22, 12, tzinfo=UTC))
    store.clinic_date = drafts.TODAY
    take_whole(store, one(VISIT, PLACING, SESSION), RULES)
    monkeypatch.setattr(chain, "utc_now", lambda: drafts.MORNING)
    return store


def refused(store: Store, content: CaseloadFile) -> str:
    """What is said of a refused file, of which nothing is taken; a dry run says the same."""
    before = whole(store, drafts.TODAY)
    with pytest.raises(Refused) as caught:
        take_whole(store, content, RULES)
    assert whole(store, drafts.TODAY) == before
    assert would_take(store, content, RULES).faults == list(caught.value.faults)
    return "\n".join(str(fault) for fault in caught.value.faults)


# what is there already


def test_the_same_file_again_adds_nothing_and_writes_nothing(kept: Store) -> None:
    with kept.reading() as connection:
        before = connection.execute("SELECT * FROM link").fetchall()
    assert counts(take_whole(kept, one(VISIT, PLACING, SESSION), RULES)) == (0, 0, 3)
    with kept.reading() as connection:
        assert connection.execute("SELECT * FROM link").fetchall() == before


def test_the_demonstration_again_adds_nothing(demo: Store) -> None:
    assert counts(take_whole(demo, whole(demo, demo.today()), RULES)) == (0, 0, 2363)


@pytest.mark.parametrize(
    ("changed", "known"),
    [
        ({"during": 3}, False),
        ({"on": date(2026, 2, 21)}, False),
        ({"author": "AB"}, False),
        ({"recorded_at": THEN["recorded_at"] + timedelta(microseconds=1)}, False),
        ({"recorded_at": datetime.fromisoformat("2026-02-21T14:00:00+05:00")}, True),
    ],
    ids=["a field", "the day", "the author", "a microsecond", "the same instant elsewhere"],
)
def test_an_entry_is_recognised_by_all_it_says(kept: Store, changed: dict[str, Any], known: bool) -> None:
    assert would_take(kept, one(replace(SESSION, **changed)), RULES).known == known


def test_numbers_are_recognised_by_their_value(kept: Store) -> None:
    """Another program may have rewritten 12.50 as 12.5: that is no second measurement."""
    measure = draft("measure", date(2026, 2, 20), name="active_flexion", value=Decimal("112.50"))
    take_whole(kept, one(measure), RULES)
    assert would_take(kept, one(replace(measure, value=Decimal("112.5"))), RULES).known == 1


def test_as_many_of_one_wording_as_the_file_holds(kept: Store) -> None:
    """Two alike in a file are two (the file format says so): with one in the store, one more is taken."""
    assert counts(take_whole(kept, one(SESSION, SESSION), RULES)) == (0, 1, 1)
    assert counts(take_whole(kept, one(SESSION), RULES)) == (0, 0, 1)
    assert counts(take_whole(kept, one(SESSION, SESSION), RULES)) == (0, 0, 2)


# what is new


def test_what_is_new_is_added_and_keeps_when_it_was_recorded(kept: Store) -> None:
    new = draft("session", date(2026, 2, 25), recorded_at=datetime(2026, 2, 25, 20, tzinfo=UTC), during=4)
    assert counts(take_whole(kept, one(VISIT, new), RULES)) == (0, 1, 1)
    assert told(kept)[-1] == replace(new, id=4)


def test_a_part_of_a_case_is_judged_with_what_the_store_has(kept: Store) -> None:
    """A step forward alone is a first step to a file, and the second one to the store."""
    data = {
        **{"format": "armrise caseload 1", "clinic_date": "2026-03-02", "zone": "Europe/London"},
        "cases": [
            {"code": CODE, "person": "P-T-1", "side": "LEFT", "pathway": "RC", "registered": "2026-01-05"}
            | {"entries": [{"kind": "step", "on": 0, "stage": "RC3", "direction": "forward"}]}
        ],
    }
    with pytest.raises(Exception, match='"forward" without a stage, the first is "placing"'):
        parse(data, "x", RULES)
    content = parse(data, "x", RULES, Beside(frozenset([CODE])))
    assert counts(take_whole(kept, content, RULES)) == (0, 1, 0)


@pytest.mark.parametrize(
    ("new", "said"),
    [
        (draft("step", stage="RC4", direction="forward"), "not one stage forward"),
        (draft("session", date(2026, 1, 1), during=2), "before the episode began on 2026-01-05"),
        (draft("reopening", reason="fell again"), "the case is not closed"),
        (draft("attendance", booked_for=drafts.TODAY, outcome="attended"), "was never booked"),
        (draft("flag outcome", item="all", outcome="cleared", reason="seen"), "no flag is open"),
        (draft("measure", name="active_flexion", value=Decimal(999)), "999 is out of range"),
        (draft("visit", recorded_on=date(2026, 3, 3)), "is after the clinic date 2026-03-02"),
    ],
    ids=lambda value: value.KIND if isinstance(value, type(VISIT)) else "",
)
def test_what_could_not_be_typed_is_refused_with_everything_else(kept: Store, new: Any, said: str) -> None:
    found = refused(kept, file(FileCase(head("T-9"), (VISIT,)), FileCase(head(), (SESSION, new))))
    assert said in found
    assert "case T-1, entry 2 (" in found


def test_what_was_wrong_before_is_not_the_files(store: Store) -> None:
    """Rules change: what they no longer allow stays on record, and keeps no file out."""
    store.clinic_date = drafts.TODAY
    drafts.open_case(store).append(CODE, [draft("step", date(2026, 2, 2), stage="XX7", direction="placing")])
    assert take_whole(store, one(VISIT), RULES).new == 1


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"side": "RIGHT"}, "side"),
        ({"pathway": "FS"}, "pathway"),
        ({"person": "P-2"}, "person"),
        ({"registered_on": date(2026, 1, 6)}, "registered"),
        ({"age_band": "50s"}, "age_band"),
    ],
)
def test_a_head_that_differs_is_refused(kept: Store, more: dict[str, Any], field: str) -> None:
    said = refused(kept, one(VISIT, **more))
    assert said.startswith(f"case T-1, {field}: ")
    assert "a case keeps the head it began with" in said


# what was withdrawn


def corrected(*, by: int | None = None, reason: str = "a slip") -> Correction:
    entry = draft("correction", corrects=3, replaced_by=by, reason=reason)
    assert isinstance(entry, Correction)
    return entry


def test_what_the_store_withdrew_stays_withdrawn(kept: Store) -> None:
    Ledger(kept, "TK", drafts.Clock(), RULES).correct(3, "another patient")
    assert counts(take_whole(kept, one(VISIT, PLACING, SESSION), RULES)) == (0, 0, 3)
    assert caseload.case(kept, CODE).sessions == ()


def test_a_withdrawal_comes_with_its_file(kept: Store) -> None:
    right = replace(SESSION, during=5)
    content = one(VISIT, PLACING, SESSION, right, corrected(by=4))
    assert counts(take_whole(kept, content, RULES)) == (0, 2, 3)
    assert [s.during for s in caseload.case(kept, CODE).sessions] == [5]
    assert counts(take_whole(kept, content, RULES)) == (0, 0, 5)


def test_of_two_alike_the_withdrawn_one_is_found_in_the_withdrawn_one(kept: Store) -> None:
    """Else the file's correction of its first would withdraw the store's other one as well."""
    take_whole(kept, one(SESSION, SESSION, draft("correction", corrects=2, reason="a slip")), RULES)
    content = one(SESSION, SESSION, draft("correction", corrects=1, reason="a slip"))
    assert counts(take_whole(kept, content, RULES)) == (0, 0, 3)
    assert len(caseload.case(kept, CODE).sessions) == 1


def test_a_second_withdrawal_in_other_words_is_refused(kept: Store) -> None:
    """Its replacement would stand beside the one the store has."""
    take_whole(kept, one(VISIT, PLACING, SESSION, corrected()), RULES)
    said = refused(kept, one(VISIT, PLACING, SESSION, corrected(reason="typed twice")))
    assert "entry 3 of the store (session of 2026-02-20) is already corrected by entry 4 of the store" in said


# a person's shoulders


@pytest.mark.parametrize("closed", [False, True])
def test_a_shoulder_has_one_open_case_over_store_and_file(kept: Store, closed: bool) -> None:
    second = one(VISIT, code="T-2", person="P-T-1")
    if closed:
        Ledger(kept, "TK", drafts.Clock(), RULES).append(CODE, [draft("discharge", outcome="goal met")])
        assert counts(take_whole(kept, second, RULES)) == (1, 1, 0)
    else:
        assert "T-1 of person P-T-1 LEFT is not discharged, and a shoulder has one open case" in refused(
            kept, second
        )


def test_a_file_reopens_no_case_beside_an_open_one(kept: Store) -> None:
    ledger = Ledger(kept, "TK", drafts.Clock(), RULES)
    ledger.append(CODE, [draft("discharge", outcome="goal met")])
    ledger.register(head("T-2", person="P-T-1"))
    said = refused(kept, one(draft("reopening", reason="fell again")))
    assert "T-2 of person P-T-1 LEFT is not discharged" in said


def test_the_second_shoulder_may_answer_what_the_first_one_raised(kept: Store) -> None:
    flag = "hot or swollen joint, or unwell"
    outcome = draft("flag outcome", item=flag, outcome="cleared", reason="seen in clinic")
    other = one(VISIT, outcome, code="T-2", person="P-T-1", side="RIGHT")
    assert f'"{flag}" was never answered yes' in refused(kept, other)
    take_whole(kept, one(draft("screen", item=flag, answer="yes")), RULES)
    assert counts(take_whole(kept, other, RULES)) == (1, 2, 0)
    for code, linked in ((CODE, ("T-2",)), ("T-2", (CODE,))):
        record = caseload.case(kept, code)
        assert (record.linked, len(record.screens), len(record.flag_outcomes)) == (linked, 1, 1)


def both_shoulders() -> tuple[FileCase, FileCase]:
    """Two sides of a person, whose answers to the red-flag list cross within one day."""

    def answered(hour: int, item: str, answer: str) -> Any:
        at, on = datetime(2026, 2, 20, hour, tzinfo=UTC), date(2026, 2, 20)
        return draft("screen", on, recorded_at=at, recorded_on=on, item=item, answer=answer)

    hot = "hot or swollen joint, or unwell"
    left = (VISIT, PLACING, answered(9, "all", "declined"), answered(14, "all", "no"), SESSION)
    right = (VISIT, PLACING, answered(11, hot, "yes"), answered(16, "all", "declined"))
    return FileCase(head("L-1", person="P"), left), FileCase(head("R-1", person="P", side="RIGHT"), right)


def unnumbered(value: Any) -> Any:
    """What is said, without the numbers of the entries it rests on."""
    if isinstance(value, dict):
        return {name: unnumbered(part) for name, part in value.items() if name not in ("evidence", "entry")}
    return [unnumbered(part) for part in value] if isinstance(value, list) else value


def stands(store: Store, *files: CaseloadFile) -> list[Any]:
    for content in files:
        take_whole(store, content, RULES)
    read = (caseload.case(store, code) for code in caseload.codes(store))
    return [unnumbered(explain(record, RULES, drafts.TODAY)) for record in read]


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_whichever_shoulder_comes_first_both_stand_as_if_typed(
    store: Store, tmp_path: Path, order: Any
) -> None:
    """Screens belong to the person: of one day the later recorded governs, in whatever order files came."""
    cases = both_shoulders()
    every = [(entry, at) for at, case in enumerate(cases) for entry in case.entries]
    typed = sorted(every, key=lambda pair: (pair[0].recorded_at, pair[1]))
    numbered = [
        replace(
            case,
            entries=tuple(entry for entry, which in typed if which == at),
            numbers=tuple(number for number, (_, which) in enumerate(typed, 1) if which == at),
        )
        for at, case in enumerate(cases)
    ]
    other = Store.create(tmp_path / "other.armrise", zone="Europe/London")
    assert stands(other, file(*numbered)) == stands(store, *(file(cases[at]) for at in order))


# when it was known


def test_nothing_of_a_file_is_known_before_it_came(kept: Store) -> None:
    """A colleague's entry of 25 February, taken on 2 March: what the list showed on the 26th stays so."""
    then = datetime(2026, 2, 26, 12, tzinfo=UTC)
    before = caseload.case(kept, CODE, known_at=then)
    board = caseload.board(kept, today=date(2026, 2, 26), known_at=then)
    recorded = datetime(2026, 2, 25, 20, tzinfo=UTC)
    on = date(2026, 2, 25)
    new = draft("session", on, recorded_at=recorded, recorded_on=on, during=9)
    take_whole(kept, file(FileCase(head(), (new,)), FileCase(head("T-2"), (new,))), RULES)
    assert caseload.case(kept, CODE, known_at=then) == before
    assert caseload.board(kept, today=date(2026, 2, 26), known_at=then) == board
    assert [s.during for s in caseload.case(kept, CODE, known_at=drafts.MORNING).sessions] == [2, 9]
    past = everything(kept, [CODE])[0]
    assert [len(past.known_by(day).sessions) for day in (date(2026, 3, 1), drafts.TODAY)] == [1, 2]


def test_the_first_file_is_the_record_itself_moved(store: Store) -> None:
    """Else nobody could look back in a store moved to another machine."""
    recorded = datetime(2026, 2, 25, 20, tzinfo=UTC)
    take_whole(store, one(replace(SESSION, recorded_at=recorded)), RULES)
    for hour, known in ((19, 0), (20, 1)):
        at = datetime(2026, 2, 25, hour, tzinfo=UTC)
        assert len(caseload.case(store, CODE, known_at=at).sessions) == known


def test_what_came_is_answered_by_what_is_recorded_after_it_came(kept: Store) -> None:
    """A fall told to a colleague on 25 February; a visit of the 26th, recorded here, could not know of it."""
    ledger = drafts.Unchecked(kept, "TK", drafts.Clock(datetime(2026, 2, 26, 9, tzinfo=UTC)))
    ledger.append(CODE, [draft("visit", date(2026, 2, 26), interval=21, injury_assessed=True)])
    recorded: dict[str, Any] = {"recorded_at": datetime(2026, 2, 25, 20, tzinfo=UTC)}
    fall = draft("event", date(2026, 2, 25), recorded_on=date(2026, 2, 25), event="fall", **recorded)
    ledger.now.at = drafts.MORNING
    take_whole(kept, one(fall), RULES)

    def fallen() -> list[list[str]]:
        """The reasons as the list reads the case, and as it is read in full."""
        (listed,) = caseload.board(kept, today=drafts.TODAY, rules=RULES)
        whole_case = caseload.case(kept, CODE)
        assert listed.came == whole_case.came
        assert [(came.first, came.last, came.at) for came in listed.came] == [(5, 5, drafts.MORNING)]
        return [
            [reason.name for reason in stand(record, RULES, drafts.TODAY).reasons if "injury" in reason.name]
            for record in (listed, whole_case)
        ]

    assert fallen() == [["new injury"], ["new injury"]]
    before = drafts.MORNING - timedelta(seconds=1)
    assert caseload.case(kept, CODE, known_at=before).came == ()
    assert everything(kept, [CODE])[0].known_by(drafts.TODAY).came == caseload.case(kept, CODE).came
    ledger.append(CODE, [draft("visit", interval=21, injury_assessed=True)])
    assert fallen() == [[], []]


def test_what_came_is_news_to_who_looked_before(kept: Store) -> None:
    """It was recorded before the look, and was not there to be seen."""
    at = drafts.MORNING + timedelta(hours=2)
    desk.looked(kept, "AB", CODE, datetime(2026, 3, 1, 12, tzinfo=UTC))
    new = draft("session", date(2026, 2, 25), recorded_at=datetime(2026, 2, 25, 20, tzinfo=UTC), during=9)
    assert news(kept, "AB", at) == frozenset()
    take_whole(kept, one(new), RULES)
    assert news(kept, "AB", at) == {CODE}
    assert news(kept, "TK", at) == frozenset()  # who has opened nothing has no news
    desk.looked(kept, "AB", CODE, drafts.MORNING + timedelta(hours=1))
    assert news(kept, "AB", at) == frozenset()


# actions


def test_an_action_of_another_store_stays_one_and_is_not_undone(kept: Store) -> None:
    ledger = Ledger(kept, "TK", drafts.Clock(), RULES)
    content = file(FileCase(head(), (draft("visit", note="a"), draft("visit", note="b")), (1, 2), (1, 1)))
    take_whole(kept, content, RULES)
    batches = {told.batch for told in read_timeline(kept, CODE, RULES, drafts.TODAY).told[-2:]}
    assert batches == {4}
    assert ledger.last_action(CODE) == ()
    with pytest.raises(
        Refused,
        match="nothing to undo in T-1: nothing was recorded in it at the keyboard, or a file came later",
    ):
        ledger.undo(CODE)
    ledger.append(CODE, [draft("visit", note="c")])
    assert ledger.undo(CODE)


def test_what_came_tells_nothing_of_the_clock(kept: Store) -> None:
    """A colleague's clock some hours ahead is not ours gone wrong; a day ahead is refused as ever."""
    ahead = draft("visit", recorded_at=drafts.MORNING + timedelta(hours=3))
    take_whole(kept, file(FileCase(head(), (ahead,), (1,), (1,))), RULES)
    assert Ledger(kept, "TK", drafts.Clock(), RULES).append(CODE, [draft("visit")]) == (5,)


def test_a_move_is_found_on_both_sides_after_it_came(store: Store, tmp_path: Path) -> None:
    ledger = drafts.open_case(store, head(), head("T-2"))
    (wrong,) = ledger.append(CODE, [draft("event", event="pop")])
    ledger.move(wrong, "wrong case", "T-2", draft("event", event="pop"))
    new = Store.create(tmp_path / "new.armrise", zone="Europe/London", clinic_date=drafts.TODAY)
    take_whole(new, one(VISIT, code="T-0"), RULES)
    take_whole(new, whole(store, drafts.TODAY), RULES)
    here = read_timeline(new, "T-2", RULES, drafts.TODAY).told[0]
    assert here.moved_from
    assert (here.moved_from.code, here.batch) == (CODE, here.entry.id)
