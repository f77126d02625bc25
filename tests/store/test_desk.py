"""The desk: what was typed and not written is found again, and goes when it was written."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from armrise.store.caseload.recorded import data_version
from armrise.store.database import desk
from armrise.store.database.place import Store
from tests.store import drafts

NOW = datetime(2026, 3, 2, 8, 12, tzinfo=UTC)


def test_a_draft_is_found_again_by_who_typed_it_where(store: Store) -> None:
    desk.keep_draft(store, "TK", "T-1", "review", {"during": "3", "later": ""}, NOW)
    found = desk.draft_of(Store.open(store.path), "TK", "T-1", "review")
    assert found is not None
    assert (found.at, found.fields) == (NOW, {"during": "3"})
    for who, code, form in (("AB", "T-1", "review"), ("TK", "T-2", "review"), ("TK", "T-1", "check-in")):
        assert desk.draft_of(store, who, code, form) is None


def test_the_newest_typing_replaces_and_an_emptied_form_leaves_nothing(store: Store) -> None:
    desk.keep_draft(store, "TK", "T-1", "review", {"during": "3"}, NOW)
    desk.keep_draft(store, "TK", "T-1", "review", {"during": "4"}, NOW + timedelta(seconds=1))
    found = desk.draft_of(store, "TK", "T-1", "review")
    assert found is not None
    assert found.fields == {"during": "4"}
    desk.keep_draft(store, "TK", "T-1", "review", {"during": ""}, NOW)
    assert desk.draft_of(store, "TK", "T-1", "review") is None


def test_a_draft_is_dropped(store: Store) -> None:
    desk.keep_draft(store, "TK", "T-1", "review", {"during": "3"}, NOW)
    desk.drop_draft(store, "TK", "T-1", "review")
    assert desk.draft_of(store, "TK", "T-1", "review") is None


def test_looking_is_noted_for_each_clinician(store: Store) -> None:
    assert desk.last_look(store, "TK", "T-1") is None
    desk.looked(store, "TK", "T-1", NOW)
    desk.looked(store, "TK", "T-1", NOW + timedelta(hours=1))
    assert desk.last_look(store, "TK", "T-1") == NOW + timedelta(hours=1)
    assert desk.last_look(store, "AB", "T-1") is None


def test_the_desk_is_no_change_of_the_record(store: Store) -> None:
    """Nobody else's list is read anew because somebody types."""
    drafts.open_case(store)
    before = data_version(store)
    desk.keep_draft(store, "TK", "T-1", "review", {"during": "3"}, NOW)
    desk.looked(store, "TK", "T-1", NOW)
    assert data_version(store) == before
