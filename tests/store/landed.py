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

NEWEST = 2
"""The newest schema with a store among the fixtures."""

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
) -> None:
    """Write two cases through an unchecking ``ledger``; ``desk`` (from schema 2 on) what schema 2 added."""

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
    for kind, values in ENTRIES + (ENTRIES_2 if desk else ()):
        ledger.append("T-1", [draft(kind, values)])
    done = done_item(
        exercise="row", load_class="R1", sets=3, sets_asked=3, load=Decimal("2.50"), combined=True
    )
    first, _ = ledger.append(
        "T-2", [draft("session", {"during": 7, "items": (done, done)}), draft("visit", {})]
    )
    ledger.correct(first, "typed 7 for 2", draft("session", {"during": 2, "items": (done,)}))
    (wrong,) = ledger.append("T-2", [draft("event", {"event": "pop"})])
    if desk:
        ledger.move(wrong, "wrong case", "T-1", draft("event", {"event": "pop"}))
        desk.keep_draft(ledger.store, "TK", "T-1", "review", {"during": "3"}, NOW)
        desk.looked(ledger.store, "TK", "T-1", NOW)
    ledger.append("T-2", [draft("contact", {"outcome": "spoke"})])
    ledger.undo("T-2")
