"""The audit of a store as text, JSON and page: the same counts, nothing fetched, everything escaped."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from xml.etree.ElementTree import tostring

import pytest

from armrise.store.caseload import audit as auditing
from armrise.store.caseload import read as caseload
from armrise.store.caseload.audit import audit_store
from armrise.store.clinic.audit.case import case_facts, week_ends
from armrise.store.clinic.audit.facts import Period
from armrise.store.clinic.audit.period import Audit
from armrise.store.clinic.audit.share import Share
from armrise.store.clinic.case.view import NeedsFullHistory
from armrise.store.database.place import Store, StoreError
from armrise.store.exchange.out.audit_svg import bars, stay_curve
from armrise.store.exchange.out.audit_text import as_audit_text
from armrise.store.exchange.out.plain_text import Heading
from armrise.store.exchange.paper.audit import audit_page, audit_path
from armrise.store.exchange.paper.file import write_page
from armrise.store.exchange.paper.html import as_html
from armrise.store.rules.tiers import TIERS
from armrise.tui.command import main as command
from armrise.tui.shell.intake import filled
from tests.bench import distinct_store
from tests.clinic.build import TODAY, case, on, rules
from tests.clinic.counted import audit
from tests.clinic.demo_records import demo, records

FIRST, LAST = date(2026, 2, 1), date(2026, 2, 28)
PERIOD = Period(FIRST, LAST, TODAY)
HEADING = Heading(TODAY, True, None, rules())
VOID = ("meta", "link", "br", "img", "hr", "input")


def as_audit_html(made: Audit, heading: Heading) -> str:
    return as_html(audit_page(made, heading))


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    return filled(demo(), tmp_path_factory.mktemp("audit"))


@pytest.fixture(scope="module")
def made(store: Store) -> Audit:
    return audit_store(store, rules(), PERIOD, author="TK")


class Page(HTMLParser):
    """Notes every tag left open or closed wrongly, every address, and what the cells say."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.faults: list[str] = []
        self.links: list[str] = []
        self.tags: set[str] = set()
        self.heads: list[dict[str, str | None]] = []
        self.words = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.links += [value or "" for name, value in attrs if name in ("src", "href", "srcset", "data")]
        self.faults += [name for name, _ in attrs if name.startswith("on")]
        if tag == "th":
            self.heads.append(dict(attrs))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(f"</{tag}>")

    def handle_data(self, data: str) -> None:
        self.words += data


def test_the_store_gives_what_the_records_give(made: Audit) -> None:
    assert made == audit(records(demo()), rules(), Period(FIRST, LAST, TODAY), author="TK")


def test_it_tells_how_far_it_is_and_can_be_stopped(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(auditing, "AT_ONCE", 20)
    told: list[tuple[int, int]] = []
    audit_store(store, rules(), PERIOD, tell=lambda done, of: told.append((done, of)))
    assert told == [(0, 36), (20, 36)]

    class StoppedError(Exception):
        pass

    def stop(done: int, of: int) -> None:
        raise StoppedError

    with pytest.raises(StoppedError):
        audit_store(store, rules(), PERIOD, tell=stop)


@pytest.fixture(scope="module")
def months(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Invented cases, no two alike, most of them longer than what is read of one."""
    return distinct_store.make(tmp_path_factory.mktemp("months") / "months.armrise", 16, 150)


def test_what_is_read_of_a_case_counts_as_all_of_it(months: Store) -> None:
    """Of a month, of one long ago, of a day: the same facts, or a question for the whole case."""
    today, answered = distinct_store.TODAY, 0
    codes = caseload.codes(months)
    for first, last in ((-30, -2), (-120, -106), (-7, -7)):
        period = Period(on(first, today), on(last, today), today)
        whole = {r.code: case_facts(r, rules(), period) for r in caseload.in_full(months, codes)}
        for record in caseload.since(months, codes, week_ends(period)[0], rules()):
            with suppress(NeedsFullHistory):
                assert case_facts(record, rules(), period) == whole[record.code]
                answered += record.known_from is not None
    assert answered > 24


def test_the_text_is_narrow_and_says_counts_before_per_cents(made: Audit) -> None:
    text = as_audit_text(made, HEADING)
    assert all(len(line) <= 80 for line in text.splitlines())
    assert text.startswith("FICTIONAL CASELOAD")
    for told in (
        "NOT SIGNED OFF",
        "1 discharged, 1 with both scores.",
        "response reached, of those measured",
        "22 of 35 (63 %)",
        "red-flag screen complete at the first visit, of new cases: 8 of 9",
        "median not reached",
        "Clinicians are not compared",
    ):
        assert told in text, told


def test_the_page_is_whole_fetches_nothing_and_runs_nothing(made: Audit) -> None:
    text = as_audit_html(made, HEADING)
    page = Page(text)
    assert (page.faults, page.open) == ([], [])
    assert "://" not in text
    assert all(link.startswith("#part-") for link in page.links)
    assert not {"script", "img", "link", "iframe", "object", "form"} & page.tags
    assert "url(" not in text
    assert "@import" not in text
    assert "default-src 'none'" in text
    assert all(head.get("scope") in ("col", "row") for head in page.heads)
    for told in (
        "FICTIONAL CASELOAD",
        "NOT SIGNED OFF",
        "nothing recorded yet",
        "never replaces",
        "rules nothing out",
    ):
        assert told in page.words, told


def test_a_page_as_known_then_says_that_later_entries_are_left_out(made: Audit) -> None:
    page = Page(as_audit_html(made, replace(HEADING, cut=True)))
    assert "as known then, what was recorded later left out" in page.words
    assert "data as of" not in page.words


def test_what_a_record_holds_is_escaped() -> None:
    odd = '<b onclick="x()">&"quoted"</b> said'
    built = case("RC2", day=40).override(-10, "READY", odd)
    page = Page(as_audit_html(audit([built.record()], rules(), Period(FIRST, LAST, LAST)), HEADING))
    assert odd in page.words
    assert page.faults == []
    assert "b" not in page.tags


def test_nobody_gives_a_page_too() -> None:
    empty = audit([], rules(), Period(FIRST, LAST, LAST))
    page = Page(as_audit_html(empty, replace(HEADING, fictional=False)))
    assert page.faults == []
    assert "FICTIONAL" not in page.words
    assert "nothing to count" in as_audit_text(empty, HEADING)


def test_a_curve_steps_down_to_where_it_is_known(made: Audit) -> None:
    first = next(g for g in made.groups if g.code == "RC").stages[0]
    assert first.curve[:3] == [(0, 1.0), (12, 1.0), (12, pytest.approx(14 / 15))]
    assert first.curve[-1][0] == first.longest == 30
    assert [first.level(n) for n in (0, 11, 14)] == [1.0, 1.0, pytest.approx(8 / 15)]
    drawn = tostring(stay_curve(first), encoding="unicode")
    assert drawn.count('class="tick"') == len(first.censored) == first.count - first.moved_on
    assert "12 of 17 stays moved on, half after 15 days" in drawn
    assert "usual 14" in drawn
    assert "long 28" in drawn


def test_a_bar_is_filled_as_far_as_the_count_goes() -> None:
    parts = [e for e in bars("x", [("a", Share(3, 4), "3 of 4"), ("b", Share(0, 2), "")]) if e.tag == "rect"]
    wide = [float(e.get("width", "nan")) for e in parts]
    assert wide[1] == pytest.approx(wide[0] * 3 / 4, abs=0.1)
    assert (wide[2], wide[3]) == (pytest.approx(wide[0] / 2, abs=0.1), 0.0)


def test_the_file_is_for_its_owner_alone_and_a_refusal_is_one_sentence(store: Store, made: Audit) -> None:
    path = audit_path(store, made)
    assert path == store.path.with_name("audit-2026-02-01-to-2026-02-28.html")
    page = audit_page(made, HEADING)
    write_page(path, page)
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.read_text(encoding="utf-8") == as_html(page)
    with pytest.raises(StoreError, match=r"cannot write the audit to .* allow it, then write again"):
        write_page(store.path / "no" / "folder.html", page)


# the command


def test_the_command_prints_text_json_and_a_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.run(["audit", "--demo"]) == 0
    assert "Audit, Sun 1 Feb 2026 to Sat 28 Feb 2026, as known on Mon 2 Mar 2026" in capsys.readouterr().out
    assert command.run(["audit", "--demo", "--from", "2026-02-25", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["period"] == {"first": "2026-02-25", "last": "2026-03-02", "known": "2026-03-02"}
    assert command.run(["list", "--demo", "--json"]) == 0
    listed = [c for c in json.loads(capsys.readouterr().out)["cases"] if c["status"] in ("active", "on hold")]
    overdue = [c for c in listed if c["review"]["overdue_days"] > 0]
    assert found["groups"][0]["overdue"] == {"count": len(overdue), "of": len(listed), "percent": 20}
    assert found["groups"][0]["top_two"]["count"] == sum(c["tier"] in TIERS[:2] for c in listed)
    page = tmp_path / "audit.html"
    assert command.run(["audit", "--demo", "--to", "2026-02-14", "--html", str(page)]) == 0
    assert f"Audit written to {page}." in capsys.readouterr().out
    assert "FICTIONAL" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--from", "2026-03-09"], "ends before, on 2026-03-02: give --from and --to in order"),
        (["--to", "2026-03-09"], "after the clinic date 2026-03-02: give --from and --to in order"),
    ],
)
def test_dates_out_of_order_are_wrong_usage(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command.run(["audit", "--demo", *words]) == 2
    assert told in " ".join(capsys.readouterr().err.split())
