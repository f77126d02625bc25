"""In hand: a live reason answered with an action and a date, until which it does not place the case."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from textual.widget import Widget

from armrise.store.clinic.case.standing import Reason
from armrise.store.rules.pathway import TIERS
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan
from armrise.tui.words.entries import ago, day, identifying, read_day

USUAL_DAYS = 3


class InHandScreen(FormScreen):
    """Puts one live reason in hand until a date."""

    READING = (
        "A live reason answered with an action and a date; until then it does not place the case.",
        "It covers what was known when it was given: anything later or worse is live at once.",
        *FormScreen.READING,
    )
    heading = "In hand"

    def lead(self) -> str:
        """What a case in hand is, when the case belongs to today."""
        if not self.standing.reasons:
            return "No live reason: there is nothing to put in hand."
        return "Until the date the reason is shown and does not place the case; after it, it is live again."

    def rows(self) -> Iterable[Widget]:
        """Reason, action, date."""
        placing = self.standing.placing or next(iter(self.standing.reasons), None)
        names = [reason.name for reason in self.standing.reasons]
        yield Pick("reason", names, value=placing.name if placing else "", key="reason")
        yield Line("action", key="action", longest=200)
        yield Line("until", key="until", value=f"+{USUAL_DAYS}", longest=20)

    def on_mount(self) -> None:
        """The reason is chosen already, so start at the action."""
        super().on_mount()
        self.query_one("#action", Line).focus()
        self.typing()

    @property
    def reason(self) -> Reason | None:
        """The chosen reason."""
        name = self.query_one("#reason", Pick).value
        return next((r for r in self.standing.reasons if r.name == name), None)

    def typing(self) -> None:
        """Show the typed date in words, and warn of names in the action."""
        action = self.query_one("#action", Line)
        action.warn(identifying(action.value))
        until = self.query_one("#until", Line)
        wanted = read_day(until.value, self.door.today, ahead=True)
        most = f"at most +{self.most()}"
        shown = (
            f"{day(wanted)}, {ago(wanted, self.door.today)}; {most}" if wanted else f"+3, Thu, 5 Mar; {most}"
        )
        until.say_beside(shown)

    def most(self) -> int:
        """How many days ahead an in-hand date may lie for the chosen reason."""
        today = self.reason is not None and self.reason.tier == TIERS[0]
        return self.door.rules["in_hand.most_days_today" if today else "in_hand.most_days"]

    def plan(self) -> Plan:
        """One in-hand entry; faults are marked only when it is to be written."""
        reason = self.reason
        if reason is None:
            return Plan(nothing="There is no live reason to put in hand.")
        faults = self._faults()
        if faults:
            return Plan(faults=faults, nothing="Type the action and the date.")
        until = read_day(self.query_one("#until", Line).value, self.door.today, ahead=True)
        assert until is not None
        action = self.query_one("#action", Line).value
        words = f'"{reason.name}" in hand until {day(until)}: {action}'
        return Plan([("in hand", {"reason": reason.name, "action": action, "until": until})], [words])

    def _faults(self) -> dict[str, str]:
        """What is missing or out of range."""
        faults: dict[str, str] = {}
        if not self.query_one("#action", Line).value:
            faults["action"] = "action: say what is being done."
        text = self.query_one("#until", Line).value
        until = read_day(text, self.door.today, ahead=True)
        latest = self.door.today + timedelta(days=self.most())
        if until is None:
            faults["until"] = f'until: "{text}" is no date; say +3, Thu or 5 Mar.'
        elif until <= self.door.today:
            faults["until"] = f"until: {day(until)} is not ahead; from tomorrow to {day(latest)}."
        elif until > latest:
            faults["until"] = (
                f"until: {day(until)} is more than {self.most()} days ahead; at the latest {day(latest)}."
            )
        return faults
