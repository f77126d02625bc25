"""What the stores in ``fixtures`` hold: written once by each landed schema, and by the tests once more.

``fixtures/schema-N.gz`` are whole store files as the program of that schema wrote them, when its ledger and
its desk were given what :func:`fill` says. Nothing here imports the program: the caller hands in its parts,
those of an old program or of the present one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

NEWEST = 6
"""The newest schema with a store among the fixtures."""

LATEST_KIND = 4
"""The newest schema that brought a kind. Schema 5 brought the chain and the guard of the settings."""

ZONE = "Europe/London"
CLINIC_DATE = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
LATER = date(2026, 3, 20)

ENTRIES: tuple[tuple[str, dict[str, Any]], ...] = (
    ("visit", {"mode": "video", "interval": 21, "decision": True, "answers": "stalled", "usual_morning": 2}),
    ("visit", {"note": 'said "it\'s better", 50 % of it'}),
    ("session", {"during": 3, "later": "declined", "morning": "prohibited", "sling_off": True}),
    ("morning", {"pain": 4, "source": "patient reported"}),
    ("measure", {"name": "active_flexion", "value": Decimal("120.50"), "side": "LEFT", "rater": "TK"}),
    ("measure", {"name": "worst_pain", "value": "not measured"}),
    ("score", {"instrument": "SPADI", "total": Decimal("43.1"), "formula": "mean of subscales"}),
    ("score", {"instrument": "WOSI", "total": "declined"}),
    ("score", {"instrument": "OSS", "history": True}),
    ("screen", {"item": "all", "answer": "no"}),
    ("flag outcome", {"item": "all", "outcome": "cleared", "reason": "seen in clinic"}),
    ("event", {"event": "fall", "combined": True}),
    ("contact", {"outcome": "message answered", "surgeon_told": True}),
    ("appointment", {"booked_for": LATER, "reason": "review"}),
    ("attendance", {"booked_for": CLINIC_DATE, "outcome": "attended"}),
    (
        "programme item",
        {"exercise": "row", "load_class": "R1", "sets": 3, "reps": 8, "load": Decimal("2.50")},
    ),
    ("step", {"stage": "RC2", "direction": "forward", "verdict": "ready", "rules": "1"}),
    ("override", {"against": "not ready", "category": "patient goal", "reason": "wants to swim in May"}),
    ("hold", {"until": LATER, "reason": "holiday", "named": "TK"}),
    ("in hand", {"reason": "review overdue", "action": "letter sent", "until": LATER}),
    (
        "orders",
        {"surgeon": "Mr A", "sling_until": LATER, "lifting_limit": Decimal("0.5"), "poor_tissue": True},
    ),
    ("clearance", {"by": "surgeon", "scope": "resisted", "answer": "not known"}),
    ("referral", {"to": "surgeon", "urgency": "soon", "about": "image cuff"}),
    ("decision", {"about": "plateau", "note": "wait four weeks"}),
    ("letter", {"about": "progress", "state": "draft"}),
    ("discharge", {"outcome": "self-managing", "measures": "not obtained", "letter": False}),
    ("reopening", {"new_mechanism": True, "reason": "fell again"}),
    ("onset", {"what": "surgery", "operation": "cuff repair", "low_energy": True}),
    ("finding", {"name": "wound dry", "answer": "yes"}),
    ("medicine", {"what": "injection", "change": "stronger"}),
    ("target", {"measure": "active_flexion", "value": Decimal(150), "reason": "other side was operated on"}),
)
"""An entry or more of every kind that schema 1 knew, with its fields alone."""

ENTRIES_2: tuple[tuple[str, dict[str, Any]], ...] = (
    ("visit", {"anything_new": "yes"}),
    ("score", {"instrument": "NRS", "total": Decimal(3), "items": (Decimal("1.5"), None, Decimal(2))}),
    (
        "programme item",
        {"exercise": "lift", "load_class": "S1", "sets": 2, "reps": 10, "self_progress": True},
    ),
    ("irritability", {"level": "high", "proposed": "moderate", "mixed": True}),
    ("background", {"demand": "lifting at work", "goal": "swim", "sleep": "undisturbed"}),
    ("home loads", {"weights": (Decimal("0.5"), Decimal(1)), "bands": (Decimal(2),)}),
    ("sweep decision", {"decision": "phone", "until": LATER, "reasons": "review overdue", "overdue_days": 9}),
    ("referral answer", {"about": "image cuff", "answer": "image shows a small tear"}),
)
"""What schema 2 added: fields of old kinds, and kinds."""

ENTRIES_3: tuple[tuple[str, dict[str, Any]], ...] = (
    (
        "period summary",
        {
            "since": CLINIC_DATE - timedelta(days=17),
            "days_done": 9,
            "days_asked": 14,
            "worst_during": 4,
            "worst_later": 0,
            "mornings_worse": 2,
            "dose": "whole",
            "settled": "no",
        },
    ),
    ("period summary", {"since": CLINIC_DATE - timedelta(days=40)}),
    ("session", {"ordinal": 6, "times": 6, "dose": "part", "written": True, "usual_morning": 0}),
    ("morning", {"pain": 0, "written": True}),
    ("visit", {"surgeon_told": True}),
    ("contact", {"outcome": "spoke", "anything_new": "no"}),
    ("appointment", {"booked_for": LATER, "at": "08:40"}),
    ("attendance", {"booked_for": CLINIC_DATE, "at": "16:20", "outcome": "attended"}),
    (
        "programme item",
        {
            "exercise": "lowering",
            "load_class": "R1",
            "sets": 2,
            "reps": 10,
            "sets_high": 3,
            "assist": "other arm lifts",
            "lift_s": 1,
            "pause_s": 0,
            "lower_s": 3,
            "lower_s_high": 4,
            "arc_from": -20,
            "arc_to": 70,
        },
    ),
    ("screen", {"item": "child or teenager: fall, night pain, fever, or arm not used", "answer": "no"}),
    (
        "screen",
        {"item": "mass, cancer history, weight loss or unrelenting night pain", "answer": "no"},
    ),
    (
        "flag outcome",
        {"item": "something new told, not named", "outcome": "cleared", "reason": "rang, a cold"},
    ),
    ("decision", {"about": "message", "note": "answered by letter"}),
)
"""What schema 3 added: fields of old kinds, a kind, and words of closed lists."""

ENTRIES_4: tuple[tuple[str, dict[str, Any]], ...] = (
    (
        "score",
        {
            "instrument": "PSFS",
            "total": Decimal(5),
            "items": (Decimal(4), Decimal(6)),
            "activities": "reach up; hang a coat",
        },
    ),
    ("patient details", {"age_band": "60s", "dominance": "left"}),
)
"""What schema 4 added: a field of an old kind, and a kind."""


ENTRIES_6: tuple[tuple[str, dict[str, Any]], ...] = (
    ("letter", {"about": "discharge", "state": "draft", "body": "Case T-1 LEFT \u00b6 worst pain 7 to 2"}),
)
"""What schema 6 added: the text of a letter."""


def given(schema: int) -> tuple[tuple[str, dict[str, Any]], ...]:
    """Every entry that a store of ``schema`` was given with its fields alone."""
    added = ((2, ENTRIES_2), (3, ENTRIES_3), (4, ENTRIES_4), (6, ENTRIES_6))
    return ENTRIES + tuple(entry for since, entries in added if schema >= since for entry in entries)


class Clock:
    """One second on at each look."""

    def __init__(self) -> None:
        self.at = NOW

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at


def fill(
    ledger: Any,
    *,
    head: Callable[..., Any],
    kinds: Mapping[str, Callable[..., Any]],
    done_item: Callable[..., Any],
    absence: Callable[[str], Any],
    desk: Any = None,
    schema: int = 1,
) -> None:
    """Write two cases through an unchecking ``ledger``, with what each schema up to ``schema`` added.

    ``desk`` is needed from schema 2 on.
    """

    def draft(kind: str, values: Mapping[str, Any]) -> Any:
        absent = {
            name: absence(values[name])
            for name in ("later", "morning", "value", "total")
            if isinstance(values.get(name), str)
        }
        stamps = {"on": CLINIC_DATE - timedelta(days=3), "recorded_at": NOW, "recorded_on": CLINIC_DATE}
        return kinds[kind](**stamps, **{**values, **absent})

    for code, side in (("T-1", "LEFT"), ("T-2", "RIGHT")):
        ledger.register(
            head(
                code=code,
                person="P-1",
                side=side,
                pathway="RC",
                clinician="TK",
                referrer="Dr B",
                dominance="right",
                age_band="50s",
                registered_on=date(2026, 1, 5),
            )
        )
    for kind, values in given(schema):
        ledger.append("T-1", [draft(kind, values)])
    if schema >= 3:
        own = {"assist": "both ways", "lower_s": 2, "arc_from": 0, "arc_to": 90, "full_arc": "yes"}
        done = done_item(exercise="slide", load_class="A1", **own)
        ledger.append("T-1", [draft("session", {"during": 1, "items": (done,)})])
    done = done_item(
        exercise="row", load_class="R1", sets=3, sets_asked=3, load=Decimal("2.50"), combined=True
    )
    first, _ = ledger.append(
        "T-2", [draft("session", {"during": 7, "items": (done, done)}), draft("visit", {})]
    )
    ledger.correct(first, "typed 7 for 2", draft("session", {"during": 2, "items": (done,)}))
    (wrong,) = ledger.append("T-2", [draft("event", {"event": "pop"})])
    if schema >= 2:
        ledger.move(wrong, "wrong case", "T-1", draft("event", {"event": "pop"}))
        desk.keep_draft(ledger.store, "TK", "T-1", "review", {"during": "3"}, NOW)
        desk.looked(ledger.store, "TK", "T-1", NOW)
    if schema >= 4:
        desk.mark(ledger.store, "TK", "T-2", True)
    ledger.append("T-2", [draft("contact", {"outcome": "spoke"})])
    ledger.undo("T-2")
