"""Cases that are ready to step forward, and small readers of a standing, for the tests of the rulings.

Each ``ready_*`` case meets every exit criterion of its stage (practice notes, section 3) and nothing else
speaks, so that one added entry shows what that entry does.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from armrise.store.clinic.case.standing import CriterionResult, Standing, Truth, Word
from armrise.store.entries.words import CaseHead
from armrise.store.record.kinds.safety import SCREEN_ITEMS
from armrise.store.rules.pathway import ReferRule, Rules
from tests.clinic.build import TODAY, Builder, case, codes, on, rules, standing_of

MET, NOT_MET, UNKNOWN = Truth.MET, Truth.NOT_MET, Truth.UNKNOWN


def always_asked() -> list[str]:
    """The red-flag items that every screen owes: those not asked from a later day on (ruling 85)."""
    return [item for item in SCREEN_ITEMS if rules().screen_items[item].asked_from is None]


def twos(made: Builder, first: int = -13, count: int = 5, pain: int = 2) -> Builder:
    """A known baseline: ``count`` mornings of ``pain`` from ``first`` on."""
    return made.mornings(first, *[pain] * count)


def ready_rc1(day: int = 12, *, sessions: bool = True, night: bool = True, **more: Any) -> Builder:
    """RC1: night pain 3 or less twice, 3 good sessions, worst pain 5, flexion 82 % of the other side."""
    made = twos(case("RC1", day=day, **more))
    made.measure(-1, "worst_pain", 5).both(-1, "active_flexion", 139, 170)
    if night:
        made.measure(-8, "night_pain", 3).measure(-2, "night_pain", 2)
    return made.good(3, last=-2, A1=(3, 10)) if sessions else made


def ready_rc2(
    day: int = 20, *, sessions: bool = True, strength: bool = True, mornings: bool = True, **more: Any
) -> Builder:
    """RC2: 3 good sessions of 3 x 10 light resisted, flexion 94 %, external rotation strength 75 %."""
    made = case("RC2", day=day, **more)
    if mornings:
        twos(made)
    made.both(-3, "active_flexion", 160, 170)
    if strength:
        made.percent(-3, "external_rotation_strength", 75)
    return made.good(3, last=-2, R1=(3, 10)) if sessions else made


def ready_rc4(day: int = 20, **more: Any) -> Builder:
    """RC4, the last stage: patient-specific function 8, no flare, score improved, flare plan given."""
    made = twos(case("RC4", day=day, **more)).good(3, last=-2, R2=(3, 10))
    return made.score(-3, "PSFS", 8).finding(-3, "flare plan given")


def ready_fs1(day: int = 50, *, rest: bool = True, **more: Any) -> Builder:
    """FS1: night 3 and rest 2 twice, 3 good sessions, pain mainly at end range."""
    made = twos(case("FS1", day=day, **more)).good(3, last=-2, A1=(3, 10))
    for back in (-10, -2):
        made.measure(back, "night_pain", 3)
        if rest:
            made.measure(back, "rest_pain", 2)
    return made.finding(-2, "pain mainly at end range")


def ready_po3(
    day: int = 43,
    onset: int = 85,
    *,
    shrug: int | None = -3,
    flexion: int | None = 130,
    cleared: bool = True,
    **more: Any,
) -> Builder:
    """PO3 past day 84: flexion 130, no shrug, pain during 3, surgeon's clearance for resisted work."""
    made = twos(case("PO3", day=day, onset=onset, **more)).good(3, last=-2, A1=(3, 10))
    if flexion is not None:
        made.measure(-3, "active_flexion", flexion)
    if shrug is not None:
        made.finding(shrug, "shrug seen", "no")
    if cleared:
        made.clearance(-3, "surgeon", scope="resisted")
    return made


def ready_fx1(day: int = 16, onset: int | None = None, **more: Any) -> Builder:
    """FX1: check X-ray seen, moves as one piece, rest pain 4 or less; past the gate and the minimum."""
    made = case("FX1", day=day, onset=onset, **more).finding(-3, "check X-ray seen")
    return made.finding(-3, "moves as one piece").measure(-3, "rest_pain", 3)


def ready_ad1(day: int = 12, onset: int | None = None, **more: Any) -> Builder:
    """AD1: sensation kept, deltoid contracts, sling off, rest 2, 3 good sessions; past gate and minimum."""
    made = twos(case("AD1", day=day, onset=onset, **more)).good(3, last=-2, P1=(3, 10))
    made.finding(-3, "badge sensation lost", "no").finding(-3, "deltoid contracts")
    return made.finding(-3, "sling off").measure(-2, "rest_pain", 2)


def own_refer(code: str, rule: str, *findings: tuple[str, str], **more: Any) -> Rules:
    """The shipped rules with one refer rule of a clinic's own added to a pathway."""
    own = ReferRule(rule=rule, text="of the clinic", findings=findings, source="own", status="design", **more)
    pathways = rules().pathways
    return replace(rules(), pathways={**pathways, code: replace(pathways[code], refer=(own,))})


def word(made: Builder, today: date = TODAY) -> Word:
    """The verdict's word."""
    return standing_of(made, today).verdict.word


def line(made: Builder, today: date = TODAY) -> str:
    """The verdict's first line, in lower case."""
    return standing_of(made, today).verdict.line.lower()


def live_codes(made: Builder, today: date = TODAY) -> list[str]:
    """Inside codes of the live reasons."""
    return codes(standing_of(made, today))


def criterion(standing: Standing, *words: str) -> CriterionResult:
    """The one exit criterion whose text contains every one of ``words``."""
    found = [c for c in standing.verdict.criteria if all(w.lower() in c.text.lower() for w in words)]
    texts = [c.text for c in standing.verdict.criteria]
    assert len(found) == 1, f"{words}: {len(found)} criteria of {texts}"
    return found[0]


def run_state(made: Builder) -> Truth:
    """Truth of the criterion about good sessions in a row."""
    return criterion(standing_of(made), "good sessions").state


def about(result: CriterionResult) -> str:
    """Everything a criterion says, in lower case."""
    return " ".join((result.text, result.needed, result.observed, result.ask)).lower()


def printed(standing: Standing) -> str:
    """Every line a standing prints about its verdict, limits and cautions, in lower case."""
    verdict = standing.verdict
    results = [about(r) for r in (*verdict.blocks, *verdict.criteria)]
    lines = (verdict.line, *verdict.also_missing, *verdict.cautions, *standing.cautions, *standing.limits)
    return " | ".join((*lines, *standing.extra, *results)).lower()


def names_date(text: str, day: int) -> bool:
    """True when ``text`` prints the date of ``day``, as ISO or as "14 Mar"."""
    target = on(day)
    return target.isoformat() in text or f"{target.day} {target:%b}".lower() in text.lower()


def head(pathway: str, registered: int = -60) -> CaseHead:
    """The head of the case the builder makes, for the checks across entries."""
    return CaseHead(
        code="C-01",
        person="P-01",
        side="RIGHT",
        pathway=pathway,
        dominance="right",
        age_band="50s",
        clinician="TK",
        referrer="GP",
        registered_on=on(registered),
    )
