"""A store, or some of its cases, written as a FHIR R4 bundle."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.entries.filed import CaseloadFile
    from armrise.store.rules.pathway import Rules

SYSTEM_HELP = "Of a FHIR bundle: the system its persons' codes belong to, agreed with the other side."
URI = re.compile(r"(urn:[a-z0-9-]+:|https?://)[!-~]{1,200}", re.IGNORECASE)


class SystemName(click.ParamType):  # pyright: ignore[reportMissingTypeArgument]  # none in click 8.1
    """The name of a system of identifiers on the command line."""

    name = "uri"

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The name, or a usage fault."""
        if URI.fullmatch(value):
            return value
        from armrise.store.entries.words import shown

        say = f"{shown(value)} is no name of a system, allowed is a URI such as urn:oid:2.999.1"
        self.fail(say, param, ctx)


SYSTEM = SystemName()


def bundle_text(
    store: Store, made: CaseloadFile, rules: Rules, codes: Sequence[str], *, snomed: bool, system: str | None
) -> str:
    """The bundle of a caseload read from ``store``; ``codes`` are the cases asked for, none for all."""
    from armrise.store.exchange.fhir.bundle import Asked, as_text
    from armrise.store.exchange.fhir.systems import PERSON

    due = reviews_due(store, rules, made.clinic_date, codes)
    return as_text(made, rules, Asked(reviews=due, snomed=snomed, person_system=system or PERSON))


def reviews_due(store: Store, rules: Rules, today: date, codes: Sequence[str]) -> dict[str, date]:
    """The day a review is due, by the code of the case; nothing of a case that is owed none."""
    from armrise.store.caseload import read as caseload
    from armrise.store.clinic.standing.stand import stand

    standings = (
        (stand(caseload.case(store, code), rules, today) for code in codes)
        if codes
        else caseload.standings(store, rules, today)
    )
    return {standing.code: standing.review.due for standing in standings if standing.review.due}
