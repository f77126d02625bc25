"""What holds for any answers: a total in its range, blanks within bounds, order of no account."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armrise.store.clinic.scores.scoring import TOTALS, score
from armrise.store.clinic.scores.sums import other_oxford, per_cent_of_best
from armrise.store.rules.questionnaire import OLD_OXFORD, Answer, Form
from tests.clinic.build import rules

FORMULAS = [
    (key, formula)
    for key, spec in rules().instruments.items()
    if spec.form
    for formula in (spec.form.formulas or (None,))
]


def form_of(key: str) -> Form:
    form = rules().instruments[key].form
    assert form is not None
    return form


def bounds(key: str, formula: str | None) -> list[tuple[Decimal, Decimal]]:
    """Least and most answer of every item."""
    shift = 1 if formula == OLD_OXFORD else 0
    return [(p.low + shift, p.high + shift) for p in form_of(key).parts for _ in range(p.items)]


@st.composite
def filled(draw: st.DrawFn, blanks: bool = True) -> tuple[str, str | None, list[Answer]]:
    """An instrument, a formula, and answers that its form allows."""
    key, formula = draw(st.sampled_from(FORMULAS))
    length = draw(st.sampled_from(form_of(key).allowed_lengths))
    answers: list[Answer] = []
    for low, high in bounds(key, formula)[:length]:
        value = st.integers(int(low), int(high)).map(Decimal)
        answers.append(draw(st.one_of(st.none(), value, value, value) if blanks else value))
    return key, formula, answers


def scale(key: str, formula: str | None) -> tuple[Decimal, Decimal]:
    spec = rules().instruments[key]
    return (Decimal(12), Decimal(60)) if formula == OLD_OXFORD else (spec.low, spec.high)


@given(filled())
@settings(max_examples=150, deadline=None)
def test_a_total_lies_on_its_scale(case: tuple[str, str | None, list[Answer]]):
    key, formula, answers = case
    found = score(rules().instruments[key], answers, formula)
    assert (found.total is None) == bool(found.why_none)
    assert found.answered + len(found.missing) == found.asked == len(answers)
    if found.total is not None:
        low, high = scale(key, formula)
        assert low <= found.total <= high


@given(filled())
@settings(max_examples=150, deadline=None)
def test_blanks_move_no_total_outside_what_it_could_have_been(case: tuple[str, str | None, list[Answer]]):
    """Filled with their least and with their most, the blanks give a total on either side of it."""
    key, formula, answers = case
    spec = rules().instruments[key]
    found = score(spec, answers, formula).total
    if found is None:
        return
    ends: list[Decimal] = []
    for pick in (0, 1):
        full = [b[pick] if a is None else a for a, b in zip(answers, bounds(key, formula), strict=False)]
        total = score(spec, full, formula).total
        assert total is not None
        ends.append(total)
    slack = Decimal("1e-20")  # the last digits of a division
    assert min(ends) - slack <= found <= max(ends) + slack


@given(filled(), st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_order_within_a_part_changes_nothing(case: tuple[str, str | None, list[Answer]], chance: object):
    key, formula, answers = case
    spec = rules().instruments[key]
    mixed: list[Answer] = []
    at = 0
    for part in form_of(key).parts:
        piece = answers[at : at + part.items]
        chance.shuffle(piece)  # type: ignore[attr-defined]
        mixed += piece
        at += part.items
    assert score(spec, mixed, formula).total == score(spec, answers, formula).total


@given(st.lists(st.one_of(st.none(), st.integers(0, 4).map(Decimal)), min_size=12, max_size=12))
@settings(max_examples=100, deadline=None)
def test_old_and_new_oxford_are_inverse(answers: list[Answer]):
    """The same answers on the old form (5 - each) give 60 - the new total, blanks included."""
    spec = rules().instruments["OSS"]
    new = score(spec, answers, "new 0-48").total
    old = score(spec, [None if a is None else 5 - a for a in answers], OLD_OXFORD).total
    assert (new is None) == (old is None)
    if new is not None and old is not None:
        there_and_back = other_oxford(form_of("OSS"), other_oxford(form_of("OSS"), new))
        for found in (other_oxford(form_of("OSS"), old), there_and_back):  # 28 digits: 12/11 loses its last
            assert abs(found - new) < Decimal("1e-20")


@pytest.mark.parametrize("key", ["WOSI", "WORC"])
@given(raw=st.integers(0, 2100))
@settings(max_examples=30, deadline=None)
def test_per_cent_of_the_best_turns_the_scale_round(key: str, raw: int):
    share = per_cent_of_best(form_of(key), Decimal(raw))
    assert 0 <= share <= 100
    assert per_cent_of_best(form_of(key), Decimal(2100 - raw)) == pytest.approx(100 - share)


def test_every_arithmetic_is_drawn():
    assert {key for key, _ in FORMULAS} == set(TOTALS)
