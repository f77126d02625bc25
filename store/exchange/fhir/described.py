"""What a bundle of FHIR carries, in words: entry by entry, absence by absence, code by code."""

from __future__ import annotations

from collections.abc import Iterator

from armrise.store.exchange.fhir.carried import losses
from armrise.store.exchange.fhir.codes import ABSENCES, WORDS, Code, code_of, table
from armrise.store.exchange.fhir.systems import CASE, LOCAL, PATHWAY, PERSON, STAFF, STATED, VERSION
from armrise.store.exchange.out.plain_text import wrapped

SYSTEMS = {
    "persons": PERSON,
    "cases": CASE,
    "initials of staff": STAFF,
    "words of the record": LOCAL,
    "pathways and stages": PATHWAY,
    "the extension": STATED,
}


def as_text() -> str:
    """What goes into a bundle and what comes back, for whoever sends or receives one."""
    return "\n".join(_lines()).rstrip() + "\n"


def _lines() -> Iterator[str]:
    yield f"A caseload as a bundle of HL7 FHIR R4 ({VERSION}): armrise export --fhir FILE, armrise load FILE"
    yield "\nENTRIES: what each becomes, and what of it does not come back"
    for kind, becomes, lost in losses():
        yield from wrapped(f"{kind}: {becomes}. Lost: {lost}.", "  ")
    yield "\nABSENCES: the reason of the standard, and the record's own word"
    for absence, (reason, own) in ABSENCES.items():
        yield f"  {absence.value}: {reason}{f' and {own}' if own else ''}"
    yield "\nCODES of the standards beside the record's own; look one up before you rely on it"
    named = {word: told for word in sorted(WORDS) if (told := _code(code_of(word)))}
    yield from wrapped(f"none: {', '.join(sorted(WORDS - named.keys()))}", "  ")
    for word, told in named.items():
        yield from wrapped(f"{word}: {told}", "  ")
    for side in table().sides.values():
        yield from wrapped(f"{side.words}: SNOMED CT {side.snomed} ({side.source})", "  ")
    yield "\nSYSTEMS of our own, which name no host"
    for what, system in SYSTEMS.items():
        yield f"  {what}: {system}"


def _code(code: Code) -> str:
    """The code of a standard with where it was seen; empty for none."""
    number = f"LOINC {code.loinc}" if code.loinc else f"SNOMED CT {code.snomed}" if code.snomed else ""
    return number and f"{number} ({code.source})"
