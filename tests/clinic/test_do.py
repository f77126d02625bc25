"""What to do about a case (practice notes 1.1, 2.2): the row that fits, a visit of today, what is in hand."""

from __future__ import annotations

from datetime import date
from functools import cache

import pytest

from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.standing.do_words import do_words, doing
from armrise.store.clinic.standing.stand import stand
from armrise.store.exchange.out import plain_text
from armrise.store.exchange.out.listing import as_json
from armrise.store.rules.read import load
from armrise.tui.case.act_keys import act_keys
from armrise.tui.widgets.pane import compact, five_seconds, sections
from armrise.tui.words.standing import do_line
from tests.clinic.demo_records import demo, records


@cache
def standings() -> dict[str, Standing]:
    rules = load()
    return {record.code: stand(record, rules, demo().clinic_date) for record in records(demo())}


def booked(code: str, day: date | None, at: str | None) -> Standing:
    """The case with its next visit on that day."""
    standing = standings()[code]
    return standing._replace(review=standing.review._replace(booked=day, booked_at=at))


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (
            "BY-007",
            "phone now, then refer on the same day, then record the outcome; no answer: try again today",
        ),
        ("BY-015", "phone now, then see it today, or refer on the same day; no answer: try again today"),
        ("BY-003", "phone today, then correct the plan; no answer: try again today"),
        ("BY-021", "phone today, then lower the load; no answer: in hand until tomorrow"),
        ("BY-105", "phone today, then book within the week; no answer: in hand until tomorrow"),
        ("BY-027", "bring the review forward, then measure again"),
        ("BY-036", "book a visit to decide, then refer as the verdict says"),
        ("BY-033", "book a visit to decide, then record the decision"),
        ("BY-039", "phone and ask what is missing"),
        ("BY-102", "ask for the surgeon's orders, then ask what else is missing"),
        ("BY-042", "phone, then book a review"),
        ("BY-054", "see at the visit booked"),
        ("BY-063", "message or phone"),
        ("BY-072", "step forward at the next contact"),
        ("BY-087", "write the letter, at the day's end"),
        ("BY-099", ""),
        ("BY-093", ""),
    ],
)
def test_1_1_every_question_has_its_action(code: str, words: str) -> None:
    assert do_words(standings()[code]) == words


def test_every_live_reason_of_the_demonstration_says_what_to_do() -> None:
    asked = [standing for standing in standings().values() if standing.reasons]
    assert len(asked) > 25
    assert all(reason.do is not None for standing in asked for reason in standing.reasons)
    assert all(doing(standing) for standing in asked)


def test_a_patient_who_comes_in_today_is_seen_then_where_that_is_safe() -> None:
    today = demo().clinic_date
    assert do_words(standings()["BY-018"]) == "at 09:20 today, lower scaption raise and band row"
    assert do_words(booked("BY-021", today, None)) == "at today's visit, lower the load"
    assert do_words(booked("BY-105", today, "15:40")) == "at 15:40 today, review"
    for code in ("BY-007", "BY-015", "BY-003", "BY-096"):
        before = do_words(booked(code, None, None))
        assert do_words(booked(code, today, "15:40")) == f"{before}; coming in today at 15:40", "cannot wait"
    assert do_words(booked("BY-087", today, "15:40")) == do_words(booked("BY-087", None, None))


def test_what_is_in_hand_says_until_when_and_today_what_still_ends_it() -> None:
    assert do_words(standings()["BY-012"]) == "in hand until Fri 6 Mar, record the outcome"
    flare = standings()["BY-021"]
    answered = flare.reasons[0]._replace(in_hand_until=date(2026, 3, 9), in_hand_action="load cut")
    assert do_words(flare._replace(reasons=(answered,))) == "in hand until Mon 9 Mar"
    pinned = standings()["BY-012"]
    assert do_words(pinned._replace(reasons=(*pinned.reasons, *flare.reasons))) == (
        "in hand until Fri 6 Mar, record the outcome; flare not settling: phone today, then lower the load; "
        "no answer: in hand until tomorrow"
    ), "what is pinned above hides nothing that waits"


def test_a_screen_adds_the_keys_in_force_each_once() -> None:
    standing = standings()["BY-021"]
    assert do_line(standing, act_keys({})) == (
        "phone today (p), then lower the load (d); no answer: in hand until tomorrow (i)"
    )
    assert do_line(standing, act_keys({"case.contact": "f6,t"})).startswith("phone today (F6), then")
    assert do_line(standings()["BY-007"], act_keys({})).endswith("no answer: try again today")


def test_it_stands_after_the_limits_on_the_pane_and_after_the_reason_in_the_list() -> None:
    standing = standings()["BY-003"]
    told = "phone today (p), then correct the plan (d); no answer: try again today"
    assert [title for title, _ in sections(standing, act_keys({}))][:3] == ["limits in force", "do", "stage"]
    for pieces in (five_seconds(standing, "", act_keys({})), compact(standing, keys=act_keys({}))):
        assert told in [piece.text for piece in pieces]
    lines = plain_text.case_lines(standing)
    at = lines.index("     do: phone today, then correct the plan; no answer: try again today")
    assert lines[at - 1].strip().startswith("surgery; light resisted work opens")
    assert "do:" not in "\n".join(plain_text.case_lines(standings()["BY-099"]))


def test_json_says_it_with_the_name_of_each_action() -> None:
    rows = {row["code"]: row["do"] for row in as_json([standings()["BY-021"], standings()["BY-100"]])}
    assert rows["BY-021"] == {
        "words": "phone today, then lower the load; no answer: in hand until tomorrow",
        "steps": [{"say": "phone today", "act": "phone"}, {"say": "lower the load", "act": "doses"}],
        "no_answer": {"say": "in hand until tomorrow", "act": "in hand"},
    }
    assert rows["BY-100"] is None
