"""Scores that say where the answers lie between their least and their most: SPADI, the DASH family, ASES.

Blanks (the limits are figures of the rule file):

    SPADI      a blank leaves the denominator (public forms); at most 2 in each subscale (from memory)
    DASH       at least 27 of 30 answered (published: scoring sheet of the Institute for Work and Health)
    QuickDASH  at least 10 of 11 (published, read on public pages quoting the institute)
    modules    all 4 (published, same sheet)
    ASES       no official rule (from memory), so every item is needed
"""

from __future__ import annotations

from decimal import Decimal

from armrise.store.rules.questionnaire import Filled, Form

SUBSCALE_MEAN = "mean of subscales"


def spadi(form: Form, laid: list[Filled], formula: str | None) -> Decimal:
    """SPADI, 0 to 100, lower is better. Two totals are in circulation, and the record names which.

    "mean of subscales" (Roach 1991; the usual one): pain counts half. "all items": 100 times the sum over the
    most it could be, so pain counts 5 of 13. Their difference can exceed a measurement error.
    """
    if formula == SUBSCALE_MEAN:
        return sum((filled.per_cent for filled in laid), Decimal(0)) / len(laid)
    most = sum((len(filled.answered) * filled.part.high for filled in laid), Decimal(0))
    return sum((filled.sum for filled in laid), Decimal(0)) * 100 / most


def whole_form(form: Form, laid: list[Filled], formula: str | None) -> Decimal:
    """DASH, QuickDASH and the optional modules, 0 to 100, lower is better: (mean of the answers - 1) x 25.

    The short-cut (sum - 30) / 1.2 holds for 30 of 30 answers only and is not used.
    """
    return laid[0].per_cent


def halves(form: Form, laid: list[Filled], formula: str | None) -> Decimal:
    """ASES, patient part, 0 to 100, higher is better: (10 - pain) x 5 + (5 / 3) x sum of the ten."""
    pain, function = laid
    return (100 - pain.per_cent) / 2 + function.per_cent / 2
