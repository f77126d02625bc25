"""The diary strip as it is typed, both sides of every refusal (ruling 74)."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import cycle

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from armrise.store.entries.strip import Cell, Exercised, NotTold, Rest, Strip, read
from armrise.store.entries.values import RefusalError

TODAY = date(2026, 3, 2)
"""A Monday."""
MOST = 42


def day(back: int) -> date:
    return TODAY - timedelta(days=back)


def typed(line: str) -> Strip:
    return read(line, TODAY, MOST)


def refusal(line: str) -> str:
    with pytest.raises(RefusalError) as caught:
        typed(line)
    return str(caught.value)


def test_74_the_long_example() -> None:
    strip = typed("-7: 221/231*2/-2/?/322/.1./2 2 .; whole")
    assert strip == Strip(
        (
            Exercised(date(2026, 2, 23), 2, 2, 1),
            Exercised(date(2026, 2, 24), 2, 3, 1, times=2),
            Rest(date(2026, 2, 25), 2),
            NotTold(date(2026, 2, 26)),
            Exercised(date(2026, 2, 27), 3, 2, 2),
            Exercised(date(2026, 2, 28), None, 1, None),
            Exercised(date(2026, 3, 1), 2, 2, None),
        ),
        "whole",
    )
    assert str(strip) == "2026-02-23: 221/231*2/-2/?/322/.1./22.; whole"


@pytest.mark.parametrize(
    ("start", "first"),
    [
        ("2026-02-23", date(2026, 2, 23)),
        ("-7", date(2026, 2, 23)),
        ("- 7", date(2026, 2, 23)),
        ("-0", TODAY),
        ("Mon", TODAY),
        ("mon", TODAY),
        ("Tue", date(2026, 2, 24)),
        ("Sun", date(2026, 3, 1)),
    ],
)
def test_74_first_days(start: str, first: date) -> None:
    """A weekday is the latest such day not after today, so Monday on a Monday is today."""
    assert typed(f"{start}: ?").cells == (NotTold(first),)


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("221", Exercised(day(2), 2, 2, 1)),
        ("t9.", Exercised(day(2), 10, 9, None)),
        ("10 0 .", Exercised(day(2), 10, 0, None)),
        ("  2  2 1 * 3 ! ", Exercised(day(2), 2, 2, 1, times=3, part=True)),
        ("...", Exercised(day(2), None, None, None)),
        ("221*1", Exercised(day(2), 2, 2, 1, times=1)),
        ("221*6", Exercised(day(2), 2, 2, 1, times=6)),
        ("221!", Exercised(day(2), 2, 2, 1, part=True)),
        ("-", Rest(day(2))),
        (" - 10", Rest(day(2), 10)),
        ("?", NotTold(day(2))),
    ],
)
def test_74_cells(text: str, cell: Cell) -> None:
    assert typed(f"-2:{text}").cells == (cell,)


@pytest.mark.parametrize("last", ["whole", "part", " Part "])
def test_74_last_words(last: str) -> None:
    assert typed(f"-2: 221;{last}").dose == last.strip().lower()


def test_74_taken_and_refused_at_the_edge_of_today() -> None:
    assert typed("-1: 221").cells == (Exercised(day(1), 2, 2, 1),)
    assert typed("-0: 22.").cells == (Exercised(TODAY, 2, 2, None),)
    assert typed("-0: -").cells == (Rest(TODAY),)
    assert refusal("-0: 221").startswith("cell 1, Mon 2 Mar: its waking value is that of tomorrow, Tue 3 Mar")
    assert refusal("-1: 221/-2").startswith("cell 2, Mon 2 Mar: its waking value is that of tomorrow")
    assert refusal("-1: 221/22./?") == "cell 3, Tue 3 Mar: lies after today, Mon 2 Mar"
    assert refusal("2026-03-03: ?").startswith("cell 1, Tue 3 Mar: lies after today")


def test_74_refused_two_values() -> None:
    said = refusal("-2: 221/22/-")
    assert said.startswith('cell 2, Sun 1 Mar: "22" has 2 values, needed are three (during, later, on waking')


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("-2: 22/...", 'cell 1, Sat 28 Feb: "22" has 2 values'),
        ("-2: 2211", 'cell 1, Sat 28 Feb: "2211" has 4 values'),
        ("-2: 22 1", 'cell 1, Sat 28 Feb: "22 1" has 2 values'),
        ("-2: 221/", 'cell 2, Sun 1 Mar: "" has 0 values'),
        ("-2: *2", 'cell 1, Sat 28 Feb: "" has 0 values'),
        ("-2: 11 2 2", 'cell 1, Sat 28 Feb: during "11" is no pain, allowed is 0 to 10'),
        ("-2: 2a1", 'cell 1, Sat 28 Feb: later "a" is no pain, allowed is 0 to 10, t for 10'),
        ("-2: 22²", 'cell 1, Sat 28 Feb: on waking the day after "²" is no pain'),
        ("-2: 2 2 -1", 'on waking the day after "-1" is no pain'),
        ("-2: -11", 'cell 1, Sat 28 Feb: pain on waking the day after a rest day "11" is no pain'),
        ("-2: -2*2", '"2*2" is no pain'),
        ("-2: 221*0", 'cell 1, Sat 28 Feb: "0" after * is not how often, allowed is 1 to 6'),
        ("-2: 221*7", '"7" after * is not how often, allowed is 1 to 6'),
        ("-2: 221*", '"" after * is not how often, allowed is 1 to 6'),
        ("-2: 221!!", 'cell 1, Sat 28 Feb: "221!!" is no session'),
        ("-2: 221; all", 'last word: "all" is not known, allowed after ";" is whole or part'),
        ("-2: 221;", 'last word: "" is not known'),
        ("221/222", '"221/222" has no colon after its first day'),
        ("-x: 221", 'first day: "-x" is no day, allowed is a date such as 2026-02-23'),
        ("Monday: 221", 'first day: "Monday" is no day'),
        ("2026-02-30: 221", 'first day: "2026-02-30" is no day of the calendar'),
        ("9999-12-31: ?/?", "cell 1, Fri 31 Dec 9999: lies after today, Mon 2 Mar"),
        ("", '"" has no colon'),
    ],
)
def test_74_refused_in_one_sentence_that_names_cell_and_day(line: str, said: str) -> None:
    assert said in refusal(line)
    assert "\n" not in refusal(line)


def test_74_a_line_has_a_most_of_days() -> None:
    assert len(typed(f"-41: {'/'.join('?' * 42)}").cells) == 42
    said = refusal(f"-42: {'/'.join('?' * 43)}")
    assert said == "cell 43, Mon 2 Mar: 43 days are too many, a line has at most 42"


pain = st.one_of(st.none(), st.integers(0, 10))


@st.composite
def strips(draw: st.DrawFn, longest: int = MOST) -> Strip:
    length = draw(st.integers(1, longest))
    last = draw(st.integers(1, 60))
    cells: list[Cell] = []
    for back in range(last + length - 1, last - 1, -1):
        session = st.builds(
            Exercised,
            st.just(day(back)),
            pain,
            pain,
            pain,
            st.one_of(st.none(), st.integers(1, 6)),
            st.booleans(),
        )
        rest = st.builds(Rest, st.just(day(back)), pain)
        cells.append(draw(st.one_of(session, rest, st.just(NotTold(day(back))))))
    return Strip(tuple(cells), draw(st.sampled_from([None, "whole", "part"])))


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(strips())
def test_74_what_is_printed_is_read_as_the_same(strip: Strip) -> None:
    assert read(str(strip), TODAY, MOST) == strip
    assert read(str(strip), TODAY + timedelta(days=5), MOST) == strip


@given(strips(longest=4), st.lists(st.sampled_from(["", " ", "  "]), min_size=5, max_size=5))
def test_74_blanks_around_signs_are_free(strip: Strip, blanks: list[str]) -> None:
    free = cycle(blanks)
    start, rest = str(strip).split(":")
    spaced = "".join(next(free) + c + next(free) if c in "/*!;-?" else c for c in rest)
    assert read(f"{start} : {spaced}", TODAY, MOST) == strip


@given(st.text(alphabet="0123456789t.-/*!?;: whole part Mon", max_size=40))
def test_74_any_line_is_read_or_refused_in_one_sentence(line: str) -> None:
    try:
        strip = typed(line)
    except RefusalError as error:
        said = str(error)
    else:
        said = str(strip)
        assert typed(said) == strip
    assert said
    assert "\n" not in said
