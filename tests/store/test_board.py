"""Reading: the list agrees with each case in full, leaves out what was withdrawn or not yet known."""

from __future__ import annotations

import random
import shutil
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.caseload import read as caseload
from armrise.store.caseload.recorded import data_version, newest_recorded
from armrise.store.database.bulk import insert_cases, insert_entries
from armrise.store.database.place import Store
from armrise.store.database.reading import WINDOW_DAYS, windows
from armrise.store.record.case import KINDS, CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.kinds.paperwork import Correction
from tests.clinic.build import case, rules
from tests.store.drafts import MORNING, TODAY, draft, head, open_case, records


def put(store: Store, code: str, entries: list[Entry], **more: object) -> None:
    """A case with these entries, ids in the order given."""
    with store.writing() as connection:
        case_id = connection.execute("SELECT count(*) + 1 FROM cases").fetchone()[0]
        first = connection.execute("SELECT count(*) + 1 FROM entry").fetchone()[0]
        insert_cases(connection, case_id, [head(code, **more)])
        for number, entry in enumerate(entries, first):
            object.__setattr__(entry, "id", number)
        insert_entries(connection, case_id, entries, batch=0)


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


def daily(low: int, high: int) -> list[Entry]:
    return [draft("session", on(day), during=3) for day in range(low, high)]


@given(st.data())
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], database=None
)
def test_the_list_says_of_a_short_history_what_the_case_says(
    empty_store: Path, tmp_path_factory: pytest.TempPathFactory, example: st.DataObject
) -> None:
    """The same record by both ways of reading, whatever was recorded."""
    store = Store.open(shutil.copy(empty_store, tmp_path_factory.mktemp("t") / "s"))
    kinds = st.sampled_from([kind for kind in KINDS if kind not in ("correction", "discharge")])
    for number in range(example.draw(st.integers(1, 3))):
        drawn = [example.draw(records(KINDS[k])) for k in example.draw(st.lists(kinds, max_size=12))]
        put(store, f"C-{number}", drawn, registered_on=on(-30), person=f"P-{number % 2}")
    with store.several_readings():
        listed = caseload.board(store, today=TODAY, rules=rules())
        in_full = [caseload.case(store, record.code) for record in listed]
        assert [record.code for record in listed] == caseload.codes(store)
    for short, full in zip(listed, in_full, strict=True):
        if short.known_from is None:
            assert short == full
        for entries in (short.sessions, short.mornings):
            assert list(entries) == sorted(entries, key=lambda e: (e.on, e.id))


def test_entries_are_in_order_of_date_then_id(store: Store) -> None:
    """Verdicts read "the newest": the order of writing decides only within one date."""
    shuffled = [draft("visit", on(-n % 5 - 5)) for n in range(20)]
    random.Random(3).shuffle(shuffled)
    put(store, "A", shuffled)
    visits = caseload.case(store, "A").visits
    assert [(v.on, v.id) for v in visits] == sorted((v.on, v.id) for v in visits)


def test_a_long_history_is_read_for_a_window(store: Store) -> None:
    """The last weeks, and the first of the episode and of the present stage; no more."""
    start, step = -400, -200
    put(
        store,
        "A",
        [
            draft("visit", on(start)),
            draft("step", on(start), stage="RC1", direction="placing"),
            draft("step", on(step), stage="RC2", direction="forward"),
            *daily(start - 1, 0),
            *[draft("morning", on(day), pain=2) for day in range(start, 1)],
        ],
        registered_on=on(start),
    )
    (record,) = caseload.board(store, today=TODAY, rules=rules())
    early, before = CaseRecord.EARLY_DAYS, CaseRecord.MARGIN_DAYS
    wanted = [
        *range(start - 1, start + early),
        *range(step - before, step + early),
        *range(-WINDOW_DAYS, 0),
    ]
    assert [session.on for session in record.sessions] == [on(day) for day in wanted]
    assert [morning.on for morning in record.mornings] == [on(day) for day in [*wanted[1:], 0]]
    assert record.known_from == on(-WINDOW_DAYS)
    assert len(caseload.case(store, "A").sessions) == 401
    assert caseload.case(store, "A").known_from is None


def test_73_summaries_are_read_whatever_their_age(store: Store) -> None:
    """They come with visits, a few a case: no window leaves one out."""
    made = case("RC2", day=400).summary(-300, -314, "9/14 4 3 2 w s").session(-300, 3, 2, 2)
    put(store, "C-1", made.entries, registered_on=on(-400))
    (record,) = caseload.board(store, today=TODAY, rules=rules())
    assert [(told.since, told.days_done, told.settled) for told in record.summaries] == [(on(-314), 9, "yes")]
    assert record.sessions == ()


def test_windows_that_meet_are_one() -> None:
    """A stage whose first days reach into the last window: nothing between is missing."""
    early, before = CaseRecord.EARLY_DAYS, CaseRecord.MARGIN_DAYS
    meets = -WINDOW_DAYS - early + 1
    spans, known_from = windows([on(-400), on(meets)], TODAY)
    assert known_from == on(meets - before)
    assert spans == [("", on(-400 + early).isoformat()), (on(meets - before).isoformat(), "9999-12-31")]
    assert windows([on(-WINDOW_DAYS - early)], TODAY)[1] is None
    assert windows([on(-WINDOW_DAYS - early - 1)], TODAY)[1] == on(-WINDOW_DAYS)


@pytest.mark.parametrize("pathway", ["PO", "AD", "FX"])
def test_pathways_with_healing_limits_are_read_in_full(store: Store, pathway: str) -> None:
    placed = draft("step", on(-400), stage=f"{pathway}1", direction="placing")
    put(store, "A", [placed, *daily(-400, 0)], pathway=pathway, registered_on=on(-400))
    (record,) = caseload.board(store, today=TODAY, rules=rules())
    assert record.known_from is None
    assert len(record.sessions) == 400


def test_a_new_episode_begins_a_window_of_its_own(store: Store) -> None:
    reopened = draft("reopening", on(-200), new_mechanism=True, reason="fell")
    put(store, "A", [reopened, *daily(-400, 0)], registered_on=on(-400))
    (record,) = caseload.board(store, today=TODAY, rules=rules())
    assert on(-200 + CaseRecord.EARLY_DAYS - 1) in {session.on for session in record.sessions}


def test_the_present_pathway_is_that_of_the_newest_step(store: Store) -> None:
    put(
        store,
        "A",
        [
            draft("step", on(-30), stage="RC2", direction="placing"),
            draft("step", on(-9), stage="FS1", direction="forward"),
        ],
    )
    put(store, "B", [])
    assert [record.pathway for record in caseload.board(store, today=TODAY)] == ["FS", "RC"]
    assert [record.code for record in caseload.board(store, today=TODAY, pathway="FS")] == ["A"]
    assert [record.code for record in caseload.board(store, today=TODAY, pathway="RC")] == ["B"]


def discharge(days: int, **more: object) -> Entry:
    return draft("discharge", on(days), outcome="goal met", letter=False, **more)


@pytest.mark.parametrize(
    ("entries", "listed"),
    [
        ([discharge(-10)], True),
        ([discharge(-400)], True),
        ([discharge(-401)], False),
        ([discharge(-500), draft("reopening", on(-450), reason="pain is back")], True),
        ([discharge(-500), draft("reopening", on(-450), reason="pain is back"), discharge(-440)], False),
        ([discharge(-500), draft("contact", on(-420), outcome="message received")], True),
        ([discharge(-500), draft("contact", on(-500), outcome="spoke")], False),
        ([discharge(-500), draft("event", on(-1), event="fall")], True),
        ([discharge(-500), draft("screen", on(-1), item="all", answer="no")], False),
        ([draft("discharge", on(-500), outcome="moved")], True),
        (
            [draft("discharge", on(-500), outcome="moved"), draft("letter", on(-499), about="discharge")],
            False,
        ),
        (
            [
                draft("discharge", on(-500), outcome="moved"),
                draft("letter", on(-499), about="discharge", state="draft"),
            ],
            True,
        ),
        ([discharge(-500), draft("correction", corrects=1, reason="wrong case")], True),
    ],
)
def test_closed_cases_stay_while_they_may_owe_something(
    store: Store, entries: list[Entry], listed: bool
) -> None:
    """Ruling 11.3 of the practice notes: closed cases that still owe something are on the list."""
    put(store, "A", entries, registered_on=on(-600))
    assert [record.code for record in caseload.board(store, today=TODAY)] == (["A"] if listed else [])
    assert caseload.case(store, "A").code == "A"


def test_both_shoulders_of_a_person_share_screens_and_flags(store: Store) -> None:
    """Ruling 11.6 of the practice notes: a screen answer of a person shows on both of that person's cases."""
    yes = {"item": "calf or arm swelling after surgery or immobilisation", "answer": "yes"}
    put(store, "A", [draft("screen", on(-1), **yes), draft("visit", on(-1))], person="P", side="LEFT")
    put(
        store,
        "B",
        [
            draft("screen", on(-2), item="all", answer="no"),
            draft("flag outcome", on(0), item=yes["item"], outcome="cleared", reason="bruise"),
        ],
        person="P",
        side="RIGHT",
    )
    put(store, "C", [draft("screen", on(0), item="all", answer="no")], person="Q")
    left, right, other = caseload.board(store, today=TODAY)
    assert [s.on for s in left.screens] == [on(-2), on(-1)]
    assert left.screens == right.screens
    assert left.flag_outcomes == right.flag_outcomes
    assert (left.linked, right.linked, other.linked) == (("B",), ("A",), ())
    assert len(other.screens) == len(left.visits) == 1
    assert right.visits == ()
    assert caseload.case(store, "A") == left


def test_a_flag_of_a_long_closed_other_side_still_shows(store: Store) -> None:
    put(
        store,
        "A",
        [draft("screen", on(-600), item="all", answer="no"), discharge(-500)],
        person="P",
        side="LEFT",
    )
    put(store, "B", [draft("visit", on(-1))], person="P", side="RIGHT")
    (record,) = caseload.board(store, today=TODAY)
    assert (record.code, record.linked, len(record.screens)) == ("B", ("A",), 1)


def test_a_withdrawn_screen_is_withdrawn_from_both_sides(store: Store) -> None:
    wrong = draft("screen", on(-1), item="all", answer="no")
    put(store, "A", [wrong, draft("correction", corrects=1, reason="not asked")], person="P", side="LEFT")
    put(store, "B", [], person="P", side="RIGHT")
    assert [record.screens for record in caseload.board(store, today=TODAY)] == [(), ()]


def stamped(kind: str, day: int, hour: int = 12, **values: object) -> Entry:
    at = datetime(2026, 3, 2, hour, tzinfo=UTC) + timedelta(days=day)
    return draft(kind, on(-20), recorded_at=at, recorded_on=at.date(), **values)


def test_as_known_at_an_earlier_instant(store: Store) -> None:
    """Replay is a filter: what was recorded later is left out, a later correction too."""
    put(
        store,
        "A",
        [
            stamped("visit", -10, interval=7),
            stamped("visit", -5, interval=14),
            stamped("correction", -5, corrects=1, replaced_by=2, reason="interval was 14"),
            stamped("session", -3),
        ],
        registered_on=on(-20),
    )
    put(store, "B", [], registered_on=on(-4))

    def intervals(day: int, hour: int) -> list[int | None]:
        known_at = datetime(2026, 3, 2, hour, tzinfo=UTC) + timedelta(days=day)
        record = caseload.case(store, "A", known_at=known_at)
        listed = caseload.board(store, today=on(day), known_at=known_at)
        assert listed[0] == record
        assert len(listed) == (2 if day >= -4 else 1)
        assert len(record.sessions) == (day >= -3)
        return [visit.interval for visit in record.visits]

    assert intervals(-11, 12) == []
    assert intervals(-10, 11) == []
    assert intervals(-10, 12) == [7]  # the very instant counts as known
    assert intervals(-5, 11) == [7]
    assert intervals(-5, 12) == [14]
    assert intervals(0, 12) == [14]


def test_a_correction_withdrawn_brings_the_entry_back(store: Store) -> None:
    put(
        store,
        "A",
        [
            draft("visit", interval=7),
            draft("correction", corrects=1, reason="wrong case"),
            draft("correction", corrects=2, reason="right after all"),
        ],
    )
    assert [visit.interval for visit in caseload.case(store, "A").visits] == [7]
    assert KINDS["correction"] is Correction


def test_everything_recorded_raises_the_version(store: Store) -> None:
    seen = [data_version(store)]
    ledger = open_case(store)
    seen.append(data_version(store))
    ledger.append("T-1", [draft("visit")])
    seen.append(data_version(store))
    ledger.undo("T-1")
    seen.append(data_version(Store.open(store.path, read_only=True)))
    assert seen == sorted(set(seen))


def test_an_empty_store(store: Store) -> None:
    assert caseload.board(store, today=TODAY) == []
    assert newest_recorded(store) is None
    assert caseload.codes(store) == []
    with pytest.raises(caseload.UnknownCase, match='there is no case "A"'):
        caseload.case(store, "A")
    assert MORNING.tzinfo is UTC


def test_the_list_seeks_and_never_walks_a_table(store: Store) -> None:
    """Cost follows the cases asked for: every statement that reads entries goes by an index."""
    put(store, "A", [draft("visit", on(-1)), *daily(-3, 0)])
    plans: list[tuple[str, str]] = []
    with store.reading() as connection:
        statements: list[str] = []
        connection.set_trace_callback(statements.append)
        caseload.read_case(connection, "A")
        connection.set_trace_callback(None)
        for statement in statements:
            rows = connection.execute(f"EXPLAIN QUERY PLAN {statement}").fetchall()
            plans += [(row[3], statement) for row in rows]
    # Only the short table of cases (c, o) and the given spans may be walked.
    walked = [plan for plan in plans if plan[0].startswith("SCAN")]
    assert sum("link_about" in plan for plan, _ in plans) == 1, "what files brought is asked for once"
    assert {plan.split()[1] for plan, _ in walked} <= {"c", "o", "span", "CONSTANT"}, walked
    assert len(plans) > len(KINDS)
