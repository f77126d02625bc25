"""The mark of a judged list: what it is made of, whom it says to have news, and when it says nothing."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from armrise.store.caseload import mark as marks
from armrise.store.caseload.mark import Mark, mark_of, news_since
from armrise.store.caseload.named_views import add_view
from armrise.store.caseload.taking.take import take_whole
from armrise.store.database.place import Store
from armrise.store.exchange.into import caseload_file
from armrise.store.rules.folder.place import COMMON, SHIPPED, digest_in_force
from armrise.store.rules.folder.versions import OwnRules, load_in_force
from tests.encrypted import cheap_keys, encrypt, needs_the_extra  # noqa: F401
from tests.store import drafts
from tests.store.drafts import MORNING, TODAY, Clock, Unchecked, draft, head

RULES = "some rules"


def of(store: Store, today: date = TODAY, rules: str = RULES) -> Mark:
    with store.reading() as connection:
        found = mark_of(connection, rules, today)
    assert found is not None
    return found


def news(store: Store, before: Mark, now: Mark | None = None) -> frozenset[int] | None:
    with store.reading() as connection:
        return news_since(connection, before, now or of(store))


def family(store: Store) -> Unchecked:
    """Cases 1 and 2 of one person, 3 and 4 of two others."""
    people = ({"person": "P-A"}, {"person": "P-A", "side": "RIGHT"}, {}, {})
    return drafts.open_case(store, *(head(f"T-{n}", **more) for n, more in enumerate(people, 1)))


ACTIONS: dict[str, tuple[Callable[[Unchecked], object], set[int]]] = {
    "nothing": (lambda ledger: None, set()),
    "an entry": (lambda ledger: ledger.append("T-3", [draft("visit")]), {3}),
    "an entry of a person with two cases": (lambda ledger: ledger.append("T-2", [draft("visit")]), {1, 2}),
    "a withdrawal": (lambda ledger: ledger.correct(1, "not that day"), {3}),
    "an undo": (lambda ledger: ledger.undo("T-3"), {3}),
    "a move": (lambda ledger: ledger.move(1, "wrong case", "T-4", draft("visit")), {3, 4}),
    "a case registered": (lambda ledger: ledger.register(head("T-5")), {5}),
    "one more case of a person": (
        lambda ledger: ledger.register(head("T-5", person="P-T-4", side="RIGHT")),
        {4, 5},
    ),
    "the desk": (lambda ledger: add_view(ledger.store, "mine = tk", ()), set()),
}


def written(store: Store) -> Unchecked:
    """The ledger of a store with four cases and one visit, entry 1, in the third."""
    ledger = family(store)
    ledger.append("T-3", [draft("visit")])
    return ledger


@pytest.mark.parametrize("what", ACTIONS)
def test_news_are_every_case_of_the_persons_something_was_recorded_of(store: Store, what: str) -> None:
    ledger, (act, expected) = written(store), ACTIONS[what]
    before = of(store)
    act(ledger)
    assert news(store, before) == expected


def test_of_several_actions_all_count_and_those_before_the_mark_do_not(store: Store) -> None:
    ledger = written(store)
    ledger.append("T-4", [draft("visit")])
    before = of(store)
    ledger.append("T-3", [draft("visit")])
    ledger.append("T-1", [draft("visit")])
    assert news(store, before) == {1, 2, 3}
    assert news(store, of(store)) == set()


def test_a_file_taken_is_news_of_its_cases(store: Store) -> None:
    before = of(store)
    file = caseload_file.read(caseload_file.demo_path())
    take_whole(store, file)
    assert news(store, before) == set(range(1, len(file.cases) + 1))


def test_what_is_found_to_lie_ahead_of_the_clock_is_news(store: Store) -> None:
    """Of two cases written by a clock a month ahead, both are read otherwise once that was found."""
    store.created = (MORNING - timedelta(days=30)).isoformat()
    written(store)
    late = Unchecked(store, "TK", Clock(MORNING + timedelta(days=30)))
    late.append("T-3", [draft("visit")])
    late.append("T-4", [draft("visit")])
    before = of(store)
    right = Unchecked(store, "TK", Clock(MORNING + timedelta(hours=1)))
    right.append("T-1", [draft("visit")], confirmed=True)
    assert of(store).ahead
    assert news(store, before) == {1, 2, 3, 4}
    assert news(store, of(store)) == set()


# Doubt


@pytest.mark.parametrize(
    "other",
    [
        {"today": TODAY + timedelta(days=1)},
        {"rules": "others"},
        {"program": "another"},
        {"settings": "others"},
        {"hash": "0" * 64},
        {"newest": "0"},
        {"cases": 99},
        {"entries": 99},
        {"link": 99},
        {"link": 2},
    ],
    ids=str,
)
def test_a_mark_of_anything_else_says_nothing(store: Store, other: dict[str, object]) -> None:
    written(store)
    assert news(store, of(store)) == set()
    assert news(store, of(store)._replace(**other)) is None  # pyright: ignore[reportArgumentType]


def test_a_store_put_back_to_an_earlier_state_and_written_on_says_nothing(
    store: Store, tmp_path: Path
) -> None:
    ledger = written(store)
    copy = tmp_path / "copy.armrise"
    with contextlib.closing(store.connect()) as connection:
        connection.execute(f"VACUUM INTO '{copy}'")
    ledger.append("T-3", [draft("visit")])
    before = of(store)
    restored = Store.open(copy)
    assert news(restored, before) is None
    Unchecked(restored, "TK", Clock(MORNING + timedelta(hours=1))).append("T-3", [draft("visit")])
    Unchecked(restored, "TK", Clock(MORNING + timedelta(hours=2))).append("T-4", [draft("visit")])
    assert news(restored, before) is None
    assert news(store, before) == set()


def test_a_zone_changed_by_another_program_says_nothing(store: Store) -> None:
    written(store)
    before = of(store)
    with contextlib.closing(sqlite3.connect(store.path)) as raw:
        for verb in ("update", "delete", "replace"):
            raw.execute(f"DROP TRIGGER setting_no_{verb}")
        raw.execute("UPDATE setting SET value = 'Pacific/Auckland' WHERE name = 'zone'")
        raw.commit()
    assert news(store, before) is None


def test_a_store_without_its_chain_has_no_mark(store: Store) -> None:
    with contextlib.closing(sqlite3.connect(store.path)) as raw:
        raw.execute("DROP TABLE link")
        raw.execute("CREATE TABLE link (number, at_utc, about, cases, entries, hash)")
        raw.commit()
    with store.reading() as connection:
        assert mark_of(connection, RULES, TODAY) is None


def test_a_store_that_is_thrown_away_is_known_by_its_newest_rows(tmp_path: Path) -> None:
    """Its chain has the first link alone."""
    store = Store.create(tmp_path / "a.armrise", zone="Europe/London", lasting=False)
    ledger = written(store)
    before = of(store)
    ledger.append("T-4", [draft("visit")])
    assert of(store).link == before.link == 1
    assert news(store, before) == {4}
    other = shutil.copy(store.path, tmp_path / "b.armrise")
    with contextlib.closing(sqlite3.connect(other)) as raw:
        raw.execute("DROP TRIGGER entry_no_update")
        raw.execute("UPDATE entry SET recorded_at_utc = 1 WHERE id = 1")
        raw.commit()
    assert news(Store.open(other), before) is None


# Where else it works


@needs_the_extra
def test_an_encrypted_store_has_the_mark_it_had_in_plain(store: Store, cheap_keys: None) -> None:  # noqa: F811
    ledger = written(store)
    before = of(store)
    ledger.append("T-4", [draft("visit")])
    sealed = Store.open(encrypt(store.path))
    assert news(sealed, before) == {4}


def test_news_of_a_store_on_a_server(on_server: Store) -> None:
    ledger = written(on_server)
    before = of(on_server)
    ledger.append("T-2", [draft("visit")])
    ledger.register(head("T-5"))
    assert news(on_server, before) == {1, 2, 5}
    assert news(on_server, before._replace(hash="0" * 64)) is None


# Of rules and of the program


def test_files_in_force_have_one_digest_until_one_of_them_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "rules"
    monkeypatch.setattr("armrise.store.rules.folder.versions.default_folder", lambda: folder)
    shipped = load_in_force()
    own = OwnRules(folder)
    version = own.copy(MORNING)
    copied_only = load_in_force().digest
    own.adopt(version, MORNING)
    adopted = load_in_force()
    assert len({shipped.digest, copied_only, adopted.digest, ""}) == 4
    assert adopted.digest == load_in_force().digest == digest_in_force(folder)
    path = folder / version / COMMON
    path.write_text(path.read_text(encoding="utf-8") + "\n# a remark\n", encoding="utf-8")
    assert load_in_force().digest == digest_in_force(folder) not in ("", adopted.digest)
    assert load_in_force(SHIPPED).digest == shipped.digest


def test_rules_changed_in_memory_are_none_that_were_read(tmp_path: Path) -> None:
    read = load_in_force(SHIPPED)
    other = replace(read, version="9")
    assert read.identity == read.digest
    assert other.digest == ""
    assert other.identity not in (read.identity, replace(read, version="9").identity)
    assert other.identity == other.identity


def test_the_program_is_known_by_its_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One more file, another size and another time each make another program; what is no code does not."""
    (tmp_path / "caseload").mkdir()
    monkeypatch.setattr(marks, "__file__", str(tmp_path / "caseload" / "mark.py"))
    found: list[str] = []

    def look() -> None:
        found.append(marks.program.__wrapped__())

    file = tmp_path / "caseload" / "a.py"
    for content in ("1", "22"):
        file.write_text(content)
        look()
    (tmp_path / "b.toml").write_text("")
    look()
    assert len(set(found)) == 3
    (tmp_path / "c.txt").write_text("")
    look()
    assert found[-1] == found[-2]
    assert marks.program() == marks.program()
