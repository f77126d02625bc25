"""A discharge: outcome, last measures and score, letter; what blocks it, and what it leaves owed."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, InvalidOperation

from armrise.store.clinic.actions import endings
from armrise.store.clinic.actions.endings import NEUTRAL, NOT_NEEDED, REVIEW_ANSWERS, SEEN
from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.time import slots
from armrise.store.record.fields import Absence, Choice, Flag, Words
from armrise.store.record.kinds.care import Visit
from armrise.store.record.kinds.measured import Score
from armrise.store.record.kinds.paperwork import Decision, Discharge
from armrise.store.record.words import count_days, plain
from armrise.store.rules.measure import InstrumentSpec
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.words.entries import ago
from armrise.tui.words.standing import NONE_BOOKED, booked

SCORE_KEYS = "n is not obtained"


class DischargeScreen(RecordForm):
    """Closes an episode by a clinician's decision. Nothing is discharged by itself."""

    heading = "Discharge"
    write_label = "Discharge"
    kind = Discharge
    asks = (
        Ask("review", rule=Choice(REVIEW_ANSWERS), later=True),
        Ask("on", "seen on", of=Visit, back=60, later=True),
        Ask("note", "why not needed", of=Decision, key="review_reason", later=True),
        Ask("outcome"),
        Ask("safeguarding", rule=Words(120), later=True),
        Ask("measures", "last measures"),
        Ask("total", "score", of=Score, key="score"),
        Ask("letter", "letter to the referrer", value="y"),
        Ask("told", "referrer told", rule=Flag(), later=True),
        Ask("note", rule=Words(80)),
    )

    def lead(self) -> str:
        """What stands in the way, before anything is typed."""
        return "\n".join(before(self.view)) if self.view else ""

    def read_in(self, view: View) -> None:
        """Name the score, and start at the review where one is outstanding."""
        spec = endings.score_asked(view)
        if spec is not None:
            self.name_score(view, spec)
        if endings.review_outstanding(view):
            self.show("review", True)
            self.query_one("#review").focus()

    def name_score(self, view: View, spec: InstrumentSpec) -> None:
        """Which total is asked, its range and direction, and the one that is recent enough to stand."""
        line = self.query_one("#score", Line)
        line.relabel(f"{spec.key} total")
        better = "lower is better" if spec.lower_is_better else "higher is better"
        beside = f"{plain(spec.low)}-{plain(spec.high)}, {better}; {SCORE_KEYS}"
        recent = endings.recent_score(view)
        if recent is not None and isinstance(recent.total, Decimal):
            beside = f"{plain(recent.total)} of {ago(recent.on, view.today)} stands; or type a new one"
        line.say_beside(beside)

    def fit(self, view: View) -> None:
        """Only what this ending asks."""
        outcome = self.picked("outcome")
        died = outcome == "died"
        outstanding = endings.review_outstanding(view) is not None and not died
        self.show("review", outstanding)
        self.show("on", outstanding and self.picked("review") == SEEN)
        self.show("review_reason", outstanding and self.picked("review") == NOT_NEEDED)
        self.show("safeguarding", outcome == "did not attend" and slots.brought_by_others(view))
        self.show("measures", not died)
        self.show("score", not died and endings.score_asked(view) is not None)
        self.show("letter", outcome not in NEUTRAL)
        self.show("told", endings.guarded(view) and not endings.referrer_told(view) and not died)

    def score(self) -> Decimal | Absence | None:
        """The typed total; an absence for "not obtained", None for nothing or what is no number."""
        text = self.line("score")
        if text.lower() == "n":
            return Absence.NOT_MEASURED
        try:
            return Decimal(text) if text else None
        except InvalidOperation:
            return None

    def checked(self, view: View) -> Needs:
        """What stands in the way of this ending, and what it still lacks."""
        ask = endings.DischargeAsk(
            outcome=self.picked("outcome"),
            measures=self.picked("measures"),
            review=self.picked("review"),
            seen_on=self.on_day("on"),
            review_reason=self.line("review_reason"),
            score=self.score(),
            referrer_told=bool(self.answered("told")),
            safeguarding=self.line("safeguarding"),
        )
        asked, text = endings.discharge(view, ask), self.line("score")
        if text and self.score() is None:
            label = self.query_one("#score", Line).label
            asked.faults["score"] = f'{label}: "{text}" is no number; type the total, or {SCORE_KEYS}.'
        return asked

    def drafts(self, view: View) -> list[Draft]:
        """The answer to an outstanding review, the last score or that it was not obtained, the ending."""
        drafts: list[Draft] = []
        if self.picked("review") == SEEN:
            drafts.append((Visit.KIND, self.stated(Visit)))
        elif self.picked("review") == NOT_NEEDED:
            drafts.append((Decision.KIND, {"about": "review not needed", **self.stated(Decision)}))
        spec, total = endings.score_asked(view), self.score()
        if spec is not None and total is not None:
            drafts.append((Score.KIND, {"instrument": spec.key, "total": total}))
        return [*drafts, (Discharge.KIND, self.ending())]

    def ending(self) -> dict[str, object]:
        """The discharge itself; what was thought and who was told stands in its note."""
        told = "referrer told" if self.answered("told") else ""
        thought = self.line("safeguarding")
        safe = f"safeguarding: {thought}" if thought else ""
        note = "; ".join(part for part in (told, safe, self.line("note")) if part)
        stated: dict[str, object] = {"measures": "not obtained", "letter": False, **self.stated()}
        return {**stated, "note": note} if note else stated

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """What remains owed after it, or why nothing does; and a slot that nobody has cancelled."""
        slot = booked(self.standing)
        return self.owed() + (
            [] if slot == NONE_BOOKED else [f"(still booked: {slot.removeprefix('booked ')})"]
        )

    def owed(self) -> list[str]:
        """What remains owed after it, or why nothing does."""
        if self.picked("outcome") in NEUTRAL:
            return ["(nothing is owed: prompts stop and letters are suppressed)"]
        if self.answered("letter"):
            return ["(owed: a discharge letter, until it is recorded as sent)"]
        return ["(nothing is owed: no letter)"]


def before(view: View) -> list[str]:
    """What a clinician should know before discharging: what is guarded here, and what has been tried."""
    told: list[str] = []
    if endings.guarded(view):
        stage = view.stage.code if view.stage else ""
        days = view.rules["discharge.protected_attempts"]
        told.append(
            f"Protected stage {stage}: try contact on {count_days(days)} and tell the referrer first."
        )
    misses = endings.unanswered_misses(view)
    if misses:
        told.append(misses)
    if slots.brought_by_others(view):
        told.append(slots.SAFEGUARDING)
    return told
