"""Ruling 73: the weeks since the last visit typed as one line."""

from __future__ import annotations

from dataclasses import asdict

import pytest
from hypothesis import given
from hypothesis import strategies as st

from armrise.store.entries.summary_line import DOSES, SETTLED, LineError, SummaryLine, read_line

WHOLE = SummaryLine(days_done=9, days_asked=14, worst_during=4, worst_later=3, mornings_worse=2, dose="whole")


def changed(**values: object) -> SummaryLine:
    return SummaryLine(**{**asdict(WHOLE), **values})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("9/14 4 3 2 w", WHOLE),  # ruling 73
        ("  9/14  4 3 2 W ", WHOLE),
        ("9/14 4 3 2 p", changed(dose="part")),
        ("9/14 4 3 2 m", changed(dose="more")),
        ("9/14 4 3 2 .", changed(dose=None)),
        ("9/14 4 3 2", changed(dose=None)),
        ("9/14 4 3 2 w s", changed(settled="yes")),
        ("9/14 4 3 2 w n", changed(settled="no")),
        ("9/14 4 3 2 w .", WHOLE),
        ("9/14 4 3 2 s", changed(dose=None, settled="yes")),
        ("9/14 n", SummaryLine(days_done=9, days_asked=14, settled="no")),
        ("9 4 3 2 w", changed(days_asked=12)),  # the default asked
        ("9", SummaryLine(days_done=9, days_asked=12)),
        ("9/. 4 3 2 w", changed(days_asked=None)),
        ("./14 4 3 2 w", changed(days_done=None)),
        (". 4 3 2 w", changed(days_done=None, days_asked=None)),
        ("9/14 . 3 2 w", changed(worst_during=None)),
        ("9/14 4 . 2 w", changed(worst_later=None)),
        ("9/14 4 3 . w", changed(mornings_worse=None)),
        (". . . . . s", SummaryLine(settled="yes")),
        (".", SummaryLine()),
        (
            "0/1 0 0 0 .",
            SummaryLine(days_done=0, days_asked=1, worst_during=0, worst_later=0, mornings_worse=0),
        ),
        (
            "28/28 10 10 28 m",
            SummaryLine(
                days_done=28, days_asked=28, worst_during=10, worst_later=10, mornings_worse=28, dose="more"
            ),
        ),
    ],
)
def test_73_a_line_is_read(line: str, expected: SummaryLine) -> None:
    assert read_line(line, 12) == expected


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("", "summary: nothing was typed, allowed is a line like 9/14 4 3 2 w s"),
        ("9/14 4 3 2 w s s", 'summary: "9/14 4 3 2 w s s" has too many parts, allowed is a line like'),
        ("9/14 4 3 2 w x", 'summary: "9/14 4 3 2 w x" has too many parts, allowed is a line like'),
        ("29/29", 'days done: "29" is not allowed, allowed is 0 to 28, or . where it was not told'),
        ("9/0", 'days asked: "0" is not allowed, allowed is 1 to 28, or . where it was not told'),
        ("9/", 'days asked: "" is not allowed'),
        ("/14", 'days done: "" is not allowed'),
        ("9/14/2", 'days asked: "14/2" is not allowed'),
        ("9/14 11", 'worst during: "11" is not allowed, allowed is 0 to 10'),
        ("9/14 -1", 'worst during: "-1" is not allowed, allowed is 0 to 10'),
        ("9/14 4.5", 'worst during: "4.5" is not allowed'),
        ("9/14 4 ² 2", 'worst later: "²" is not allowed'),
        ("9/14 4 3 29", 'mornings worse: "29" is not allowed, allowed is 0 to 28'),
        ("9/14 4 3 2 x", 'dose: "x" is not allowed, allowed is w whole, p part, m more, or . where not told'),
        ("9/14 4 3 w", 'mornings worse: "w" is not allowed'),
        ("s", 'days done: "s" is not allowed'),
    ],
)
def test_73_a_line_is_refused_in_one_sentence(line: str, said: str) -> None:
    with pytest.raises(LineError) as refused:
        read_line(line, 12)
    assert str(refused.value).startswith(said)
    assert "\n" not in str(refused.value)


def test_73_without_a_default_asked_the_days_alone_say_no_share() -> None:
    assert read_line("9", None) == SummaryLine(days_done=9)


def maybe(values: st.SearchStrategy[int]) -> st.SearchStrategy[int | None]:
    return st.none() | values


@given(
    st.builds(
        SummaryLine,
        days_done=maybe(st.integers(0, 28)),
        days_asked=maybe(st.integers(1, 28)),
        worst_during=maybe(st.integers(0, 10)),
        worst_later=maybe(st.integers(0, 10)),
        mornings_worse=maybe(st.integers(0, 28)),
        dose=st.sampled_from([None, *DOSES.values()]),
        settled=st.sampled_from([None, *SETTLED.values()]),
    )
)
def test_73_whatever_may_be_recorded_can_be_typed(told: SummaryLine) -> None:
    """What a line states in every part is read back as it was meant."""

    def letter(letters: dict[str, str], value: str | None) -> str:
        return next((key for key, word in letters.items() if word == value), ".")

    numbers = (told.worst_during, told.worst_later, told.mornings_worse)
    days = "/".join("." if n is None else str(n) for n in (told.days_done, told.days_asked))
    parts = [days, *("." if n is None else str(n) for n in numbers), letter(DOSES, told.dose)]
    assert read_line(" ".join([*parts, letter(SETTLED, told.settled)]), 12) == told
