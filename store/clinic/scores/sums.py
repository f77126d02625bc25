"""Scores that are a sum or a mean: Oxford scores, WOSI, WORC, Constant-Murley, pain, function and others.

Blanks (the limits are figures of the rule file):

    Oxford     up to 2 blanks take the mean of the answered items, 3 or more give no total (from memory)
    WOSI, WORC no rule found: every item is needed (design)
    Constant   nothing unmeasured counts as 0: every part is needed (design)
    PSFS       the mean is over the rated activities (from memory)
    NRS        one number, or the mean of all three (design)
"""

from __future__ import annotations

from decimal import Decimal

from armrise.store.rules.questionnaire import Filled, Form


def sum_with_means(form: Form, laid: list[Filled], formula: str | None) -> Decimal:
    """Oxford scores: 0 to 48, higher is better; by the old formula 12 to 60, lower is better.

    A blank takes the mean of the answered items, so the total is their mean times the number of items.
    """
    answered = [value for filled in laid for value in filled.answered]
    return sum(answered, Decimal(0)) * form.count / len(answered)


def plain_sum(form: Form, laid: list[Filled], formula: str | None) -> Decimal:
    """The sum of all answers: WOSI and WORC 0 to 2100 (lower better), Constant-Murley 0 to 100."""
    return sum((filled.sum for filled in laid), Decimal(0))


def mean(form: Form, laid: list[Filled], formula: str | None) -> Decimal:
    """The mean of the answers given: pain 0 to 10 (lower is better), patient-specific function (higher)."""
    answered = [value for filled in laid for value in filled.answered]
    return sum(answered, Decimal(0)) / len(answered)


def other_oxford(form: Form, total: Decimal) -> Decimal:
    """A new Oxford total from an old one, and back: 60 - total (12 items of 0 to 4, or of 5 to 1)."""
    return form.old_and_new - total


def per_cent_of_best(form: Form, total: Decimal) -> Decimal:
    """A raw WOSI or WORC total as per cent, where higher is better: (2100 - total) / 2100 x 100."""
    return (form.sum_of_all - total) * 100 / form.sum_of_all
