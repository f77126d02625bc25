"""The outcome of a possible red flag: cleared, referred and answered, or referred and still open."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from textual.widget import Widget
from textual.widgets import Static

from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.readiness import URGENCY
from armrise.store.clinic.verdict.screening import open_flags, severity_of
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.safety import Screen
from armrise.tui.forms.kit.base import FormScreen
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.effect import STAYS, effect, standing_with
from armrise.tui.forms.kit.fields import Pick, YesNo
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Draft, Plan
from armrise.tui.words.entries import ago, day, identifying, read_day

RED = "RED"
ABOUT = "possible red flag"
CLEARED, ANSWERED, REFERRED = "cleared", "referred and answered", "refer, stays open"
DOINGS = (CLEARED, ANSWERED, REFERRED)
URGENCIES = ("same day", "urgent", "soon", "routine")
ALL = "all of them"
SHORTEST = 3
"""Characters of a reason at least."""
OF_CLEARING = ("reason",)
OF_REFERRING = ("to", "urgency", "sent", "letter", "until")
LABEL_OF_REASON = {CLEARED: "why it is cleared", ANSWERED: "what the answer was"}


class FlagOutcomeScreen(FormScreen):
    """Closes a possible red flag with its outcome, or refers it and puts it in hand until a date."""

    heading = "Red flag"

    def lead(self) -> str:
        """What the list of red flags is, and is not."""
        return "Outcome of a possible red flag. The list is a prompt and no rule-out."

    def rows(self) -> Iterable[Widget]:
        """The flags that are open, then what is done about one of them."""
        yield Static("", id="open", markup=False)
        yield Pick("which", ("reading",), flow=True, key="which")
        yield Pick("outcome", DOINGS, flow=True, key="doing")
        yield Line("reason", key="reason", longest=200)
        yield Line("referred to", key="to", longest=60)
        yield Pick("urgency", URGENCIES, flow=True, key="urgency")
        yield DayField("sent on", self.door.today, self.door.today, key="sent")
        yield YesNo("letter sent?", key="letter", beside="until one is sent, it is owed")
        yield Line("in hand until", key="until", value=f"+{self.most_days}", longest=20)

    @property
    def most_days(self) -> int:
        """How far ahead an in-hand date may lie for a red flag."""
        return self.door.rules["in_hand.most_days_today"]

    def on_mount(self) -> None:
        """Nothing is asked until it is known what is open."""
        super().on_mount()
        self.query_one("#letter", YesNo).blank = "not yet"
        self.fit()

    def arrived(self, record: CaseRecord) -> None:
        """List the open flags."""
        told = [self.told(flag) for flag in self.flags]
        self.query_one("#open", Static).update("\n".join(told) or self.nothing_open())
        which = self.query_one("#which", Pick)
        which.options = (*dict.fromkeys(f.item for f in self.flags), *((ALL,) if len(self.items) > 1 else ()))
        which.hint = f"1-{len(which.options)} chooses and goes on"
        self.fit()
        focus = "#write" if not self.flags else "#doing" if len(self.items) == 1 else "#which"
        self.query_one(focus).focus()

    @property
    def flags(self) -> list[Screen]:
        """Possible red flags of this person without an outcome, those of the other side included."""
        return open_flags(self.view) if self.record else []

    @property
    def items(self) -> list[str]:
        """The items that are open, each once."""
        return list(dict.fromkeys(flag.item for flag in self.flags))

    @property
    def view(self) -> View:
        """The case on the clinic date."""
        assert self.record is not None
        return View.of(self.record, self.door.rules, self.door.today)

    def told(self, flag: Screen) -> str:
        """One open flag: how urgent, what, since when, who raised it."""
        urgent = URGENCY[severity_of(self.view, flag)]
        since = f"since {day(flag.on, year=False)}, {ago(flag.on, self.door.today)}"
        note = f" ({flag.note})" if flag.note else ""
        by = flag.author or "unknown"
        return f"{urgent.upper()}: {flag.item}{note}\n  {since}; {flag.source}, entered by {by}"

    def nothing_open(self) -> str:
        """That there is no flag, with what that does not mean."""
        both = f", nor for {', '.join(self.standing.linked)}" if self.standing.linked else ""
        return f"No possible red flag is open for {self.standing.code}{both}. That is no rule-out."

    # what is asked

    @property
    def doing(self) -> str:
        """The chosen outcome, empty before it is chosen."""
        return self.query_one("#doing", Pick).value

    @property
    def closed(self) -> bool:
        """A closed case takes an outcome and a referral, and nothing in hand."""
        return self.standing.status == "closed"

    def fit(self) -> None:
        """Show the fields that the chosen outcome needs."""
        any_open = bool(self.flags)
        self.query_one("#which").display = len(self.items) > 1
        self.query_one("#doing").display = any_open
        referring = self.doing == REFERRED
        for key in OF_CLEARING:
            self.query_one(f"#{key}").display = any_open and self.doing in LABEL_OF_REASON
        for key in OF_REFERRING:
            self.query_one(f"#{key}").display = (
                any_open and referring and not (key == "until" and self.closed)
            )

    def move_on(self) -> None:
        """From the outcome to the first field it needs: that one has only just come into sight."""
        if self.focused is self.query_one("#doing") and self.doing:
            self.fit()
            self.set_focus(self.query_one("#to" if self.doing == REFERRED else "#reason", Line).input)
        else:
            super().move_on()

    def typing(self) -> None:
        """Fit the fields, show the typed date in words, warn of names."""
        self.fit()
        reason, to, until = (self.query_one(f"#{key}", Line) for key in ("reason", "to", "until"))
        reason.say_beside(LABEL_OF_REASON.get(self.doing, ""))
        reason.warn(identifying(reason.value))
        to.warn(identifying(to.value))
        wanted = self.until()
        shown = f"{day(wanted)}, {ago(wanted, self.door.today)}; " if wanted else ""
        until.say_beside(f"{shown}at most +{self.most_days}")

    def until(self) -> date | None:
        """The in-hand date as typed."""
        return read_day(self.query_one("#until", Line).value, self.door.today, ahead=True)

    # what is written

    def plan(self) -> Plan:
        """The outcome; or the referral, its letter and the date until which it is in hand."""
        if self.record is None:
            return Plan(nothing="Reading the case ...")
        if not self.flags:
            return Plan(nothing="Nothing is open: there is no outcome to record.")
        if not self.chosen() or not self.doing:
            return Plan(
                nothing="Choose the flag and its outcome." if len(self.items) > 1 else "Choose the outcome."
            )
        faults = self.faults()
        if faults:
            return Plan(faults=faults, nothing=self.lacking())
        drafts, words = self.referral() if self.doing == REFERRED else self.outcome()
        after = standing_with(self.record, self.door.rules, self.standing, self.entries(drafts))
        then = effect(self.standing, after)
        return Plan(drafts, words if self.doing == REFERRED and then == [STAYS] else [*words, *then])

    def lacking(self) -> str:
        """What has to be typed for the chosen outcome."""
        if self.doing == REFERRED:
            return "Type to whom it is referred and how urgently."
        return f"Type {LABEL_OF_REASON[self.doing]}, at least {SHORTEST} characters."

    def chosen(self) -> list[str]:
        """The items the outcome is about."""
        items, value = self.items, self.query_one("#which", Pick).value
        return items if value == ALL or len(items) == 1 else [value] if value in items else []

    def outcome(self) -> tuple[list[Draft], list[str]]:
        """One outcome an item."""
        reason = self.query_one("#reason", Line).value
        drafts: list[Draft] = [
            ("flag outcome", {"item": item, "outcome": self.doing, "reason": reason})
            for item in self.chosen()
        ]
        words = [f'"{item}": {self.doing}, {reason}' for item in self.chosen()]
        if self.doing == ANSWERED:
            drafts.append(("referral answer", {"about": ABOUT, "answer": reason}))
            words[-1] += "; kept as the answer to the referral too"
        return drafts, words

    def referral(self) -> tuple[list[Draft], list[str]]:
        """The referral, the letter if it went with it, and the flag in hand."""
        to, urgency = self.query_one("#to", Line).value, self.query_one("#urgency", Pick).value
        sent = self.query_one("#sent", DayField).chosen
        note = "; ".join(self.chosen())[:200]
        values: dict[str, Any] = {"on": sent, "to": to, "urgency": urgency, "about": ABOUT, "note": note}
        drafts: list[Draft] = [("referral", values)]
        words = [f"referred on {day(sent)} to {to}, {urgency}: {note}; the flag stays open"]
        if self.query_one("#letter", YesNo).yes:
            drafts.append(("letter", {"on": sent, "about": "referral", "state": "sent"}))
            words.append(f"referral letter sent on {day(sent)}")
        if not self.closed:
            until = self.until()
            assert until is not None
            action = f"referred to {to}, {urgency}; answer awaited"
            drafts.append(("in hand", {"reason": self.reason_name, "action": action, "until": until}))
            words.append(f'"{self.reason_name}" in hand until {day(until)}')
        return drafts, words

    @property
    def reason_name(self) -> str:
        """The name of the reason that an open flag raises."""
        return self.door.rules.ranks[RED].name

    def faults(self) -> dict[str, str]:
        """What is missing or out of range for the chosen outcome."""
        if self.doing != REFERRED:
            typed = len(self.query_one("#reason", Line).value)
            few = typed < SHORTEST
            return {"reason": f"reason: at least {SHORTEST} characters, {typed} typed."} if few else {}
        faults: dict[str, str] = {}
        if not self.query_one("#to", Line).value:
            faults["to"] = "referred to: say to whom, as a service or a role."
        if not self.query_one("#urgency", Pick).value:
            faults["urgency"] = f"urgency: choose 1 to {len(URGENCIES)}."
        sent = self.query_one("#sent", DayField)
        if sent.fault or sent.value:
            faults["sent"] = sent.fault or "sent on: the day is being typed."
        return faults | self.until_faults()

    def until_faults(self) -> dict[str, str]:
        """An in-hand date that is none, or lies outside its range."""
        if self.closed:
            return {}
        text, until = self.query_one("#until", Line).value, self.until()
        latest = self.door.today + timedelta(days=self.most_days)
        if until is None:
            return {"until": f'in hand until: "{text}" is no date; say +3, Thu or 5 Mar.'}
        if not self.door.today < until <= latest:
            return {"until": f"in hand until: {day(until)} is not from tomorrow to {day(latest)}."}
        return {}

    def action_write(self) -> None:
        """Without a choice, go there."""
        if self.record is not None and self.flags:
            for key, chosen in (("which", self.chosen()), ("doing", self.doing)):
                if not chosen:
                    pick = self.query_one(f"#{key}", Pick)
                    self.mark({key: f"{pick.label}: choose 1 to {len(pick.options)}."})
                    return
        super().action_write()
