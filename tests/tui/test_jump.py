"""The digits of a case's number: which case they mean, and what the foot says of them."""

from __future__ import annotations

import pytest

from armrise.tui.widgets import jump

CODES = ["BY-127", "BY-027", "BY-207", "BY-020", "PRIVATE", "C-7", "2026-KNEE-03"]


@pytest.mark.parametrize(
    ("code", "number"),
    [("BY-027", "027"), ("C7", "7"), ("2026-KNEE-03", "03"), ("12B", "12"), ("PRIVATE", ""), ("", "")],
)
def test_the_number_of_a_code_is_the_last_one_in_it(code: str, number: str) -> None:
    assert jump.number_of(code) == number


@pytest.mark.parametrize(
    ("digits", "found", "meant"),
    [
        *(("027", ["BY-027"], "BY-027"), ("27", ["BY-027", "BY-127"], "BY-027")),
        *(
            ("127", ["BY-127"], "BY-127"),
            ("12", ["BY-127"], "BY-127"),
            ("20", ["BY-020", "BY-207"], "BY-020"),
        ),
        *(
            ("02", ["BY-027", "BY-020"], ""),
            ("0027", ["BY-027"], "BY-027"),
            ("99", [], ""),
            ("07", ["C-7", "BY-207"], "C-7"),
        ),
        *(("7", ["C-7", "BY-127", "BY-027", "BY-207"], ""), ("03", ["2026-KNEE-03"], "2026-KNEE-03")),
    ],
)
def test_the_whole_number_comes_before_its_end_and_its_end_before_a_part(
    digits: str, found: list[str], meant: str
) -> None:
    assert jump.found(CODES, digits) == found
    assert jump.meant(CODES, digits) == meant


def test_two_cases_with_one_number_are_a_choice_and_none_is_meant() -> None:
    assert jump.meant(["BY-027", "KX-027"], "027") == ""
    assert jump.meant(["BY-027", "KX-027"], "27") == ""


@pytest.mark.parametrize(
    ("digits", "refused", "said"),
    [
        ("0", False, "go to: 0_  type on  Esc back"),
        ("027", False, "go to: 027_  1 match: BY-027 RIGHT  Enter opens  Esc back"),
        ("27", False, "go to: 27_  BY-027 RIGHT  1 more  Enter opens  Esc back"),
        ("02", False, "go to: 02_  2 matches: type on, or move to one  Esc back"),
        ("02", True, "go to: 02_  2 matches, none opened: type on or move to one"),
        ("99", True, "go to: 99_  no case on the list has it  Esc back"),
    ],
)
def test_the_foot_names_the_case_that_enter_opens(digits: str, refused: bool, said: str) -> None:
    heads = [(code, "RIGHT") for code in CODES]
    assert jump.words(digits, heads, refused=refused) == said
