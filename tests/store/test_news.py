"""What came in since a clinician last opened a case, and the marks a clinician sets."""

from __future__ import annotations

from datetime import timedelta

from armrise.store.caseload import news as of
from armrise.store.caseload.news import news
from armrise.store.database import desk
from armrise.store.database.place import Store
from tests.store import drafts
from tests.store.drafts import MORNING, TODAY, draft, head

LATER = MORNING + timedelta(hours=1)
NOW = MORNING + timedelta(days=1)
ONE, TWO = head("T-1"), head("T-2")


def written(store: Store, author: str, code: str, hours: int = 2) -> None:
    """Somebody records a contact with a case."""
    clock = drafts.Clock(MORNING + timedelta(hours=hours))
    drafts.Unchecked(store, author, clock).append(code, [draft("contact", outcome="spoke", author=author)])


def test_news_is_what_others_recorded_since_the_case_was_opened(store: Store) -> None:
    drafts.open_case(store, ONE, TWO)
    assert news(store, "TK", NOW) == frozenset(), "who has opened no case has no news"
    for code in ("T-1", "T-2"):
        desk.looked(store, "TK", code, LATER)
    written(store, "", "T-2", hours=0)
    written(store, "TK", "T-1")
    assert news(store, "TK", NOW) == frozenset(), "one's own entry is none"
    written(store, "MB", "T-1")
    assert news(store, "TK", NOW) == {"T-1"}, "what was there when it was opened is none"
    assert news(store, "MB", NOW) == frozenset()
    desk.looked(store, "TK", "T-1", MORNING + timedelta(hours=3))
    assert news(store, "TK", NOW) == frozenset()
    written(store, "", "T-2", hours=4)
    assert news(store, "TK", NOW) == {"T-2"}
    assert news(store.as_known(MORNING + timedelta(hours=5)), "TK", NOW) == frozenset(), (
        "an earlier list has none"
    )


def test_a_case_never_opened_counts_from_the_oldest_look(store: Store) -> None:
    drafts.open_case(store, ONE, TWO)
    written(store, "MB", "T-2", hours=0)
    desk.looked(store, "TK", "T-1", LATER)
    assert news(store, "TK", NOW) == frozenset()
    written(store, "MB", "T-2")
    assert news(store, "TK", NOW) == {"T-2"}


def test_the_whole_list_is_asked_by_an_index_and_not_by_history(store: Store) -> None:
    with store.reading() as connection:
        plan = [
            row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {of.SINCE}", {"author": "TK", "now": 0})
        ]
    entries = [step for step in plan if " e " in f"{step} "]
    assert entries == [
        "SEARCH e USING INDEX entry_of_case_recorded (case_id=? AND recorded_at_utc>?)",
        "SEARCH e USING INDEX entry_of_case (case_id=? AND id>? AND id<?)",
    ]


def test_marks_are_ones_own_and_survive(store: Store) -> None:
    drafts.open_case(store, ONE, TWO)
    desk.mark(store, "TK", "T-2", True)
    desk.mark(store, "TK", "T-2", True)
    desk.mark(store, "MB", "T-1", True)
    assert desk.marks(Store.open(store.path), "TK") == {"T-2"}
    desk.mark(store, "TK", "T-2", False)
    desk.mark(store, "TK", "T-2", False)
    assert desk.marks(store, "TK") == frozenset()


def test_the_demonstration_begins_where_everything_was_seen_the_evening_before(demo: Store) -> None:
    evening = demo.end_of_day(TODAY - timedelta(days=1))
    desk.looked_at_all(demo, "TK", evening)
    assert news(demo, "TK", NOW) == {"BY-003", "BY-007", "BY-015", "BY-021", "BY-069", "BY-096"}
