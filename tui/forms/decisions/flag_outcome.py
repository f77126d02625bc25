"""The outcome of a possible red flag: cleared, referred and answered, or referred and still open."""

from __future__ import annotations

from collections.abc import Sequence

from armrise.store.clinic.actions.needs import Needs
from armrise.store.clinic.case.view import View
from armrise.store.clinic.letter.draft import as_sent
from armrise.store.clinic.verdict.readiness import URGENCY
from armrise.store.clinic.verdict.screening import open_flags, severity_of
from armrise.store.record.fields import Choice, Flag, Words, rule_of
from armrise.store.record.kinds.paperwork import Letter, Referral, ReferralAnswer
from armrise.store.record.kinds.plan import InHand
from armrise.store.record.kinds.safety import FlagOutcome, Screen
from armrise.store.record.words import PROMPT
from armrise.tui.forms.kit.asked import Ask
from armrise.tui.forms.kit.effect import STAYS
from armrise.tui.forms.kit.fields import Pick
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.forms.kit.record import RecordForm
from armrise.tui.words.entries import ago, day

RED = "RED"
ABOUT = "possible red flag"
CLEARED, ANSWERED = rule_of(FlagOutcome, "outcome").words
REFERRED = "refer, stays open"
ALL = "all of them"
LABEL_OF_REASON = {CLEARED: "why it is cleared", ANSWERED: "what the answer was"}


class FlagOutcomeScreen(RecordForm):
    """Closes a possible red flag with its outcome, or refers it and puts it in hand until a date."""

    heading = "Red flag"
    kind = FlagOutcome
    asks = (
        Ask("which", rule=Choice(("reading",)), needed=True, later=True),
        Ask("doing", "outcome", rule=Choice((CLEARED, ANSWERED, REFERRED)), needed=True, later=True),
        Ask("reason", later=True),
        Ask("to", "referred to", of=Referral, later=True, lacking="say to whom, as a service or a role."),
        Ask("urgency", of=Referral, later=True),
        Ask("on", "sent on", of=Referral, key="sent", later=True),
        Ask("letter", "letter sent?", rule=Flag(), later=True, blank="not yet",
            beside="until one is sent, it is owed"),
        Ask("until", "in hand until", of=InHand, later=True),
    )  # fmt: skip

    def lead(self) -> str:
        """What the list of red flags is, and is not."""
        return f"Outcome of a possible red flag. {PROMPT}"

    def proposal(self, ask: Ask) -> str:
        """In hand for as long as it may be."""
        return f"+{self.most_days}" if ask.name == "until" else ask.value

    @property
    def most_days(self) -> int:
        """How far ahead an in-hand date may lie for a red flag."""
        return self.door.rules["in_hand.most_days_today"]

    # what is open

    def known(self, view: View) -> list[str]:
        """The open flags."""
        return [told(view, flag) for flag in self.flags] or [self.nothing_open()]

    def nothing_open(self) -> str:
        """That there is no flag, with what that does not mean."""
        both = f", nor for {', '.join(self.standing.linked)}" if self.standing.linked else ""
        return f"No possible red flag is open for {self.standing.code}{both}. {PROMPT}"

    def read_in(self, view: View) -> None:
        """Which of them are open, and where to start."""
        which = self.query_one("#which", Pick)
        which.options = (*self.items, *((ALL,) if len(self.items) > 1 else ()))
        self.fit(view)
        focus = "#write" if not self.flags else "#doing" if len(self.items) == 1 else "#which"
        self.query_one(focus).focus()

    @property
    def flags(self) -> list[Screen]:
        """Possible red flags of this person without an outcome, those of the other side included."""
        return open_flags(self.view) if self.view else []

    @property
    def items(self) -> list[str]:
        """The items that are open, each once."""
        return list(dict.fromkeys(flag.item for flag in self.flags))

    def chosen(self) -> list[str]:
        """The items the outcome is about."""
        items, value = self.items, self.query_one("#which", Pick).value
        return items if value == ALL or len(items) == 1 else [value] if value in items else []

    # what is asked

    @property
    def doing(self) -> str:
        """The chosen outcome, empty before it is chosen."""
        return self.query_one("#doing", Pick).value

    @property
    def closed(self) -> bool:
        """A closed case takes an outcome and a referral, and nothing in hand."""
        return self.standing.status == "closed"

    def fit(self, view: View) -> None:
        """Only what the chosen outcome needs."""
        any_open, referring = bool(self.flags), bool(self.flags) and self.doing == REFERRED
        self.show("which", len(self.items) > 1)
        self.show("doing", any_open)
        self.show("reason", any_open and self.doing in LABEL_OF_REASON)
        for key in ("to", "urgency", "sent", "letter"):
            self.show(key, referring)
        self.show("until", referring and not self.closed)
        self.query_one("#reason", Line).say_beside(LABEL_OF_REASON.get(self.doing, ""))
        self.say_day("until", f"at most +{self.most_days}")

    def move_on(self) -> None:
        """From the outcome to the first field it needs: that one has only just come into sight."""
        if self.focused is self.query_one("#doing") and self.doing and self.view:
            self.fit(self.view)
            self.set_focus(self.query_one("#to" if self.doing == REFERRED else "#reason", Line).input)
        else:
            super().move_on()

    def checked(self, view: View) -> Needs:
        """What the chosen outcome needs; an in-hand date within its range."""
        return Needs(faults=self.lacks() | self.ahead("until", self.most_days))

    # what is written

    def plan_of(self, view: View) -> Plan:
        """Nothing where nothing is open."""
        if not self.flags:
            return Plan(nothing="Nothing is open: there is no outcome to record.")
        return super().plan_of(view)

    def drafts(self, view: View) -> list[Draft]:
        """One outcome an item; or the referral, its letter and the date until which it is in hand."""
        return self.referral(view) if self.doing == REFERRED else self.outcome()

    def outcome(self) -> list[Draft]:
        """One outcome an item; an answer is kept as the answer to the referral too."""
        reason = self.line("reason")
        drafts: list[Draft] = [
            (FlagOutcome.KIND, {"item": item, "outcome": self.doing, "reason": reason})
            for item in self.chosen()
        ]
        if self.doing == ANSWERED:
            drafts.append((ReferralAnswer.KIND, {"about": ABOUT, "answer": reason}))
        return drafts

    def referral(self, view: View) -> list[Draft]:
        """The referral, the letter if it went with it, and the flag in hand."""
        stated: dict[str, str] = self.stated(Referral)
        rule: Words = rule_of(Referral, "note")
        note = "; ".join(self.chosen())[: rule.longest]
        drafts: list[Draft] = [(Referral.KIND, {**stated, "about": ABOUT, "note": note})]
        if self.answered("letter"):
            drafts.append((Letter.KIND, {"on": self.on_day("sent"), **as_sent(view, "referral")}))
        if not self.closed:
            reason = self.door.rules.ranks[RED].name
            action = f"referred to {stated['to']}, {stated['urgency']}; answer awaited"
            drafts.append((InHand.KIND, {"reason": reason, "action": action, **self.stated(InHand)}))
        return drafts

    def follows(self, view: View, drafts: Sequence[Draft]) -> list[str]:
        """That a referred flag stays open; then what changes, where anything does."""
        then = super().follows(view, drafts)
        if self.doing != REFERRED:
            return then
        return ["(the flag stays open)", *(then if then != [STAYS] else [])]


def told(view: View, flag: Screen) -> str:
    """One open flag: how urgent, what, since when, who raised it."""
    urgent = URGENCY[severity_of(view, flag)]
    since = f"since {day(flag.on, year=False)}, {ago(flag.on, view.today)}"
    note = f" ({flag.note})" if flag.note else ""
    by = flag.author or "unknown"
    return f"{urgent.upper()}: {flag.item}{note}\n  {since}; {flag.source}, entered by {by}"
