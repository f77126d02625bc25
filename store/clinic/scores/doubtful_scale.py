"""Totals that may be on another scale than they claim: recognised as possible, asked about, never converted.

Reports and old files hold SPADI as a sum out of 130, WOSI and WORC as per cent of the best (where higher is
better), and Oxford scores on the old 12 to 60 (where lower is better). A converted guess would look like
data, so the only thing done here is to ask.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from armrise.store.clinic.scores.scoring import known_form, rounded
from armrise.store.clinic.scores.sums import other_oxford, per_cent_of_best
from armrise.store.record.light import dataclass
from armrise.store.record.words import plain
from armrise.store.rules.measure import InstrumentSpec
from armrise.store.rules.questionnaire import OLD_OXFORD, Form

OXFORD = ("OSS", "OSIS")
HUNDRED_MM = ("WOSI", "WORC")


@dataclass(frozen=True, slots=True)
class ScaleDoubt:
    """``certain``: at least one total cannot be on the scale it claims. ``question`` is put to the user."""

    certain: bool
    question: str


def scale_doubt(
    spec: InstrumentSpec, totals: Sequence[Decimal], formula: str | None = None
) -> ScaleDoubt | None:
    """Whether the totals of one column may be on another scale; None when nothing suggests it.

    Ask once a column: single totals below 100 cannot tell. A total that fits no known scale is left to the
    range check and raises no doubt.
    """
    if not totals or spec.key not in ("SPADI", *OXFORD, *HUNDRED_MM):
        return None
    form = known_form(spec)
    if spec.key == "SPADI":
        return _sum_of_all(spec, form, totals)
    if spec.key in HUNDRED_MM:
        return _per_cent(spec, form, totals)
    return _old(spec, form, totals) if formula != OLD_OXFORD else None


def raw_as_per_cent(form: Form, raw: Decimal) -> Decimal:
    """A sum of every item (SPADI: out of 130) as the total by all items, once somebody said it is one."""
    return raw * 100 / form.sum_of_all


def _sum_of_all(spec: InstrumentSpec, form: Form, totals: Sequence[Decimal]) -> ScaleDoubt | None:
    """Sums are whole numbers up to 130; so may rounded per cents be, so whole numbers alone leave a doubt."""
    whole = all(total % 1 == 0 and 0 <= total <= form.sum_of_all for total in totals)
    if not whole:
        return None
    largest = max(totals)
    shown = plain(rounded(raw_as_per_cent(form, largest), 1) or largest)
    asked = f"{spec.key} {plain(largest)}: is it a sum out of {plain(form.sum_of_all)}"
    return ScaleDoubt(
        largest > spec.high, f"{asked} (then {shown} of 100 by all items), or already out of 100?"
    )


def _per_cent(spec: InstrumentSpec, form: Form, totals: Sequence[Decimal]) -> ScaleDoubt | None:
    if not all(0 <= total <= 100 for total in totals):
        return None
    largest = max(totals)
    raw = form.sum_of_all * (100 - largest) / 100
    return ScaleDoubt(
        False,
        f"{spec.key} {plain(largest)}: is it per cent of the best (higher is better; then"
        f" {plain(rounded(raw, 0) or raw)} of {plain(form.sum_of_all)}), or the raw total (lower is better,"
        f" then {plain(rounded(per_cent_of_best(form, largest), 0) or largest)} per cent)?",
    )


def _old(spec: InstrumentSpec, form: Form, totals: Sequence[Decimal]) -> ScaleDoubt | None:
    least = form.count
    if not all(least <= total <= form.old_and_new for total in totals):
        return None
    largest = max(totals)
    asked = f"{spec.key} {plain(largest)}: is it the old 12 to 60 (lower is better; then"
    return ScaleDoubt(
        largest > spec.high,
        f"{asked} {plain(other_oxford(form, largest))} of {plain(spec.high)}), or the present 0 to 48?",
    )
