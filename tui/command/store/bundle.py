"""A store, or some of its cases, written as a FHIR R4 bundle."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from armrise.tui.command.printing import note
from armrise.tui.command.store.load import count
from armrise.tui.shell.intake import load_rules

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.entries.filed import CaseloadFile
    from armrise.store.rules.pathway import Rules

BESIDE_A_BUNDLE = (
    "Not in it: free text, what was withdrawn, and what armrise fields --fhir names. Not encrypted."
)


class Wanted:
    """A bundle as it is asked for. Raises a usage fault for what is of a bundle where none is asked for."""

    def __init__(self, *, fhir: bool, snomed: bool, system: str | None) -> None:
        if (snomed or system) and not fhir:
            raise click.UsageError("--snomed and --system are of a FHIR bundle, give --fhir too")
        self.snomed, self.system = snomed, system

    def text(self, store: Store, made: CaseloadFile, codes: Sequence[str]) -> str:
        """The bundle of a caseload read from ``store``; ``codes`` are the cases asked for, none for all."""
        from armrise.store.exchange.fhir.bundle import Asked, as_text
        from armrise.store.exchange.fhir.systems import PERSON

        rules = load_rules()
        due = reviews_due(store, rules, made.clinic_date, codes)
        asked = Asked(reviews=due, snomed=self.snomed, person_system=self.system or PERSON)
        return as_text(made, rules, asked)


def write_bundle(path: Path, text: str, made: CaseloadFile) -> None:
    """Write a bundle and say so. Raises a store error."""
    from armrise.store.exchange.fhir.bundle import MARK
    from armrise.store.exchange.out.private_file import write_private
    from armrise.store.record.visible import visible

    write_private(path, text, "bundle", MARK)
    note(f"{holds(made)} written to {visible(str(path))} as a FHIR R4 bundle.\n{BESIDE_A_BUNDLE}")


def holds(made: CaseloadFile) -> str:
    """How many cases and entries a caseload has, and that they are fictional."""
    entries = sum(len(case.entries) for case in made.cases)
    fictional = " (fictional)" if made.fictional else ""
    return f"{count(len(made.cases), 'case')}{fictional} with {count(entries, 'entry')}"


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
