"""In hand: a live reason answered with an action and a date, until which it does not place the case."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from textual.widget import Widget

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.view import View
from armrise.store.record.kinds.plan import InHand
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.plan import Draft
from armrise.tui.forms.kit.record import RecordForm

USUAL_DAYS = 3


class InHandScreen(RecordForm):
    """Puts one live reason in hand until a date."""

    READING = (
        "A live reason answered with an action and a date; until then it does not place the case.",
        "It covers what was known when it was given: anything later or worse is live at once.",
        *FormScreen.READING,
    )
    heading = "In hand"
    kind = InHand
    asks = (
        Ask("action", lacking="say what is being done."),
        Ask("until"),
    )

    def lead(self) -> str:
        """What a case in hand is, when the case belongs to today."""
        if not self.standing.reasons:
            return "No live reason: there is nothing to put in hand."
        return "Until the date the reason is shown and does not place the case; after it, it is live again."

    def rows(self) -> Iterable[Widget]:
        """The live reasons, the one that places the case chosen already; then action and date."""
        placing = self.standing.placing or next(iter(self.standing.reasons), None)
        names = [reason.name for reason in self.standing.reasons]
        yield Pick("reason", names, value=placing.name if placing else "", key="reason")
        yield from super().rows()

    def proposal(self, ask: Ask) -> str:
        """A few days, where the reason that places the case may be in hand for as long."""
        if ask.name != "until":
            return ask.value
        placing = self.standing.placing
        return f"+{min(USUAL_DAYS, self.most_of(placing.name if placing else ''))}"

    def fit(self, view: View) -> None:
        """The typed date in words, and how far ahead it may lie."""
        self.say_day("until", f"at most +{self.most()}")

    def most(self) -> int:
        """How many days ahead an in-hand date may lie for the chosen reason."""
        return self.most_of(self.picked("reason"))

    def most_of(self, reason: str) -> int:
        """The same for a reason by its name."""
        rules = self.door.rules
        row = next((row for row in rules.ranks.values() if row.name == reason), None)
        return rules.in_hand_days(row) if row else rules["in_hand.most_days"]

    def checked(self, view: View) -> Needs:
        """A live reason, an action, and a date that is not too far ahead."""
        if not self.picked("reason"):
            return Needs("There is no live reason to put in hand.")
        return Needs(faults=self.lacks() | self.ahead("until", self.most()))

    def drafts(self, view: View) -> list[Draft]:
        """The reason by its name, what is done, and until when."""
        return [(InHand.KIND, {"reason": self.picked("reason"), **self.stated()})]

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """That it is in hand is all there is to it."""
        return []
