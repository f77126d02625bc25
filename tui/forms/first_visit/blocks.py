"""The rows of a first visit, block by block (practice note 1.3). What a field is called here is its id."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from textual.widget import Widget

from armrise.store.clinic.pain.irritability import END_RANGE, REST_AND_NIGHT, SETTLING
from armrise.store.entries.build import HEAD
from armrise.store.record.fields import rule_of
from armrise.store.record.kinds.head import AGE_BANDS, CODE_LONGEST, HANDS, SIDES
from armrise.store.record.kinds.pain import IRRITABILITIES
from armrise.store.record.kinds.paperwork import Background
from armrise.store.record.kinds.plan import Orders
from armrise.store.record.kinds.safety import ONSETS, SCREEN_ITEMS, Onset
from armrise.store.record.words import PROMPT
from armrise.store.rules.pathway import Rules
from armrise.tui.forms.kit.asked import choices, longest
from armrise.tui.forms.kit.fields import Pick, Score
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.measures.activity import Activity
from armrise.tui.forms.measures.plan import FUNCTIONS
from armrise.tui.forms.measures.range_line import METHODS, NOT_CHOSEN, POSITIONS, RangeLine
from armrise.tui.forms.measures.range_line_case import ACTIVE, PASSIVE, STRENGTH, asked_for
from armrise.tui.forms.paged.fields import (
    Answer,
    DateLine,
    Letters,
    Noted,
    Proposed,
    ProposedLine,
    Total,
)
from armrise.tui.forms.red_flags.rows import FlagRow
from armrise.tui.widgets.static import Static
from armrise.tui.words.choices import keys_of

TITLES = (
    "identity",
    "red-flag screen",
    "mechanism",
    "irritability",
    "range",
    "strength",
    "neck and nerves",
    "outcome",
    "context",
    "decision",
)
REFERRERS = (
    "general practitioner",
    "self",
    "surgeon",
    "emergency department",
    "fracture clinic",
    "other clinic",
)


def identity(*, known: bool) -> Sequence[Widget]:
    """Code, person and side only of a case that is not registered yet; what is known is not asked again."""
    consent = (
        Answer("consent to hold record?", key="consent"),
        Answer("guardian's consent?", key="guardian", aside="needed for a minor: y n d"),
    )
    referrer = Pick("referred by", REFERRERS, flow=True, key="referrer")
    if known:
        return (Static("", id="known", markup=False), *consent, age_row(), hand_row(), referrer)
    return (
        ProposedLine("code", longest=CODE_LONGEST, key="code"),
        ProposedLine("person", longest=longest(HEAD["person"]), key="person"),
        side_row(),
        age_row(),
        hand_row(),
        referrer,
        *consent,
        Static("", id="kin", markup=False),
    )


def side_row() -> Letters:
    """Which shoulder."""
    return Letters("side affected", keys_of(SIDES), key="side")


def age_row() -> Letters:
    """The decade of the patient."""
    return Letters("age band", keys_of(AGE_BANDS), aside="5 for the 50s; the rest below", key="age")


def hand_row() -> Letters:
    """Which hand is used more."""
    return Letters("preferred hand", keys_of(HANDS), key="dominance")


def red_flags(rules: Rules) -> Sequence[Widget]:
    """Every item, none answered."""
    severity = rules.screen_severity
    rows = [
        FlagRow(item, severity[item].whole if item in severity else None, key=f"flag-{number}")
        for number, item in enumerate(SCREEN_ITEMS)
    ]
    return (Static(f"{PROMPT} Not asked is not no."), *rows)


def mechanism(today: date) -> Sequence[Widget]:
    """How it began, and what the surgeon allows."""
    return (
        Pick("how did it begin?", ONSETS, flow=True, key="onset"),
        DateLine("when", today, key="onset-day"),
        Answer("first dislocation?", key="first-time"),
        Answer("true weakness since?", aside="not from pain alone: y n d", key="weakness"),
        Answer("from a low-energy fall?", key="low-energy"),
        Noted("operation", longest=longest(rule_of(Onset, "operation")), key="operation"),
        DateLine("surgeon's orders dated", today, key="orders-day"),
        Pick("size of the tear", choices(Orders, "tear_size"), flow=True, key="tear"),
        DateLine("sling until", today, ahead=True, key="sling-until"),
        Line("external rotation limit", longest=4, beside="degrees", key="rotation-limit"),
        Line("elevation limit", longest=3, beside="degrees", key="elevation-limit"),
        DateLine("no active work until", today, ahead=True, key="no-active"),
        DateLine("no resisted work until", today, ahead=True, key="no-resisted"),
    )


OF_ONSET = {
    "first-time": ("dislocation",),
    "weakness": ("dislocation", "fracture", "other injury"),
    "low-energy": ("fracture",),
    **dict.fromkeys(
        (
            "operation",
            "orders-day",
            "tear",
            "sling-until",
            "rotation-limit",
            "elevation-limit",
            "no-active",
            "no-resisted",
        ),
        ("surgery",),
    ),
}
"""Questions that belong to some mechanisms only."""


def irritability() -> Sequence[Widget]:
    """Pain and how it behaves, and the level that follows from it."""
    return (
        Score("worst pain in 24 hours", key="worst"),
        Score("pain at rest", key="rest"),
        Score("pain at night", key="night"),
        Score("nights woken, of last 7", high=7, key="waking"),
        Score("usual morning pain", beside="the first baseline", key="usual-morning"),
        Letters("rest or night pain is", {word[0]: word for word in REST_AND_NIGHT}, key="rest-night"),
        Letters("pain comes", {word[0]: word for word in END_RANGE}, key="end-range"),
        Letters("settles within", dict(zip("123", SETTLING, strict=True)), key="settling"),
        Proposed("irritability", IRRITABILITIES, key="level"),
    )


def ranges(rules: Rules) -> Sequence[Widget]:
    """Active and passive range of both sides, and how it was measured."""
    return (
        RangeLine("active", asked_for(ACTIVE, rules, None), NOT_CHOSEN, key="active"),
        RangeLine("passive", asked_for(PASSIVE, rules, None), NOT_CHOSEN, key="passive"),
        Letters("measured with", METHODS, key="method"),
        Letters("in which position", POSITIONS, key="position"),
        Answer("other side a reference?", aside="n when it is limited itself: y n d", key="reference"),
    )


def strength(rules: Rules) -> Sequence[Widget]:
    """Strength of both sides, where testing is allowed."""
    return (
        Static("", id="barred", markup=False),
        RangeLine("dynamometer", asked_for(STRENGTH, rules, None), NOT_CHOSEN, key="strength"),
    )


def neck() -> Sequence[Widget]:
    """Neck and nerves."""
    return (
        Answer("neck reproduces the pain?", key="neck"),
        Answer("badge sensation lost?", aside="skin of the outer arm: y n d", key="badge"),
        Answer("deltoid contracts?", key="deltoid"),
        Answer("grip weaker than other?", key="grip"),
    )


def outcome(rules: Rules) -> Sequence[Widget]:
    """One region score, and the patient's own activities."""
    regions = [key for key, spec in rules.instruments.items() if spec.region]
    return (
        Proposed("outcome score", regions, key="instrument"),
        Total("total", key="total"),
        *(Activity(number, key=key) for number, key in enumerate(FUNCTIONS, 1)),
    )


def background(today: date) -> Sequence[Widget]:
    """What else bears on it."""
    return (
        Answer("diabetes?", key="diabetes"),
        Answer("thyroid disease?", key="thyroid-disease"),
        Answer("anticoagulant?", key="anticoagulant"),
        Answer("X-ray excludes other cause", aside="n also when only requested: y n d", key="radiograph"),
        Noted("work or sport demand", longest=longest(rule_of(Background, "demand")), key="demand"),
        Pick("sleep", choices(Background, "sleep"), flow=True, key="sleep"),
        Score("worry about movement", key="worry"),
        Noted("goal, in own words", longest=longest(rule_of(Background, "goal")), key="goal"),
        DateLine("last injection on", today, key="injection"),
    )


def decision(rules: Rules, today: date) -> Sequence[Widget]:
    """Pathway, stage, interval and next date: proposed, and taken by the clinician."""
    pathways = [f"{p.code} {p.name}" for p in rules.pathways.values()]
    return (
        Static("", id="consider", markup=False),
        Proposed("pathway", pathways, key="pathway"),
        Proposed("stage", (), key="stage"),
        ProposedLine("review in, days", longest=3, key="interval"),
        DateLine("next visit", today, ahead=True, key="next"),
        Static("", id="template", markup=False),
        Answer("begin with these?", aside="y writes them, doses: key d", key="programme"),
        Answer("safety-net advice given?", key="safety-net"),
        Static("", id="left-open", markup=False),
    )
