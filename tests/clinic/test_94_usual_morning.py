"""Ruling 94 on 77: the first check-in asks the usual morning, so that a steady sore shoulder is no flare."""

from __future__ import annotations

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.classes import FLARE
from armrise.store.clinic.pain.response import Response
from tests.clinic.build import TODAY, Builder, case, on, rules


def sore(usual: int | None) -> Builder:
    """Mornings of 5 from the first session on, in a stage with a limit of 3 later the same day."""
    made = case("RC1", day=5, last_visit=5)
    made.session(-3, 2, 5, 5, **({} if usual is None else {"usual_morning": usual}))
    return made.session(-2, 2, 5, 5).session(-1, 2, 6, 5)


def response(made: Builder) -> Response:
    return Response.of(View.of(made.record(), rules(), TODAY))


def test_94_the_usual_morning_of_the_first_session_is_the_baseline() -> None:
    assert response(sore(5)).baseline(on(-2)) == 5
    assert response(sore(None)).baseline(on(-2)) is None


def test_94_a_steady_sore_shoulder_is_over_and_no_flare() -> None:
    """Later 6 is 3 above the limit of 3, and 1 above what is usual."""
    classes = [judged.klass for judged in response(sore(5)).all(TODAY)]
    assert FLARE not in classes
    assert FLARE in [judged.klass for judged in response(sore(None)).all(TODAY)]


def test_94_it_holds_as_long_as_one_told_at_a_visit() -> None:
    """``baseline.usual_days`` = 28."""
    made = case("RC1", day=60, last_visit=60).session(-29, 2, 2, None, usual_morning=4)
    assert response(made).usual_morning(on(-1)) == 4
    assert response(made).usual_morning(on(0)) is None
