"""Referrals awaiting a first visit: since when, from whom, booked or not, and what the letter warns of."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import Screen
from textual.widgets import OptionList

from armrise.store.record.words import clock_words
from armrise.tui.forms.kit.plan import sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import say
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.rowlist import RowList
from armrise.tui.widgets.static import Static
from armrise.tui.words.entries import ago, day
from armrise.tui.words.standing import FICTIONAL

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.record.case import CaseRecord

NONE = "No referral waits for a first visit. R registers one."


class WaitingScreen(Framed, Screen[None]):
    """Cases registered without a visit, those with something for today first, then the longest waiting."""

    READING: ClassVar[tuple[str, ...]] = (
        "Cases registered and not seen yet. Nobody has examined them: there is no verdict here.",
        "What a referral letter tells of a possible red flag stands first and is on the morning list too.",
        "Enter opens the first visit. R registers a referral only: code, side, pathway, referrer, date. "
        "b books a slot.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "to the list", id="waiting.leave"),
        Binding("R", "register", "register a referral", id="waiting.register"),
        Binding("b", "book", "book a slot", id="waiting.book"),
        Binding("p", "contact", "phone or message", id="waiting.contact"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.cases: dict[str, Standing] = {}

    def compose(self) -> ComposeResult:
        """Head, rows, keys."""
        with Vertical(id="waiting"):
            yield Static("", id="waiting-head", markup=False)
            yield RowList(key="rows")
            yield Static("", id="waiting-says", markup=False)
            yield Static(
                hinted("Enter first visit   R register   b book   p phone   Esc back   ? help   x blank"),
                id="waiting-keys",
            )

    def on_mount(self) -> None:
        """Read who waits."""
        self.query_one("#waiting-head", Static).update(self.head("reading ..."))
        self.read()

    def head(self, counted: str) -> str:
        """What this is, and that the caseload is invented when it is."""
        told = f"   {FICTIONAL}" if self.app.fictional else ""
        return f"Referrals awaiting a first visit: {counted}{told}"

    @work(thread=True, group="reading", exclusive=True)
    def read(self, said: str = "") -> None:
        """In a thread: the standings of those who wait, and their records."""
        door = self.app.open_door
        try:
            found = [s for s in door.standings() if s.status == "waiting"]
            records = {s.code: door.record(s.code) for s in found}
        except Exception as error:
            self.app.call_from_thread(self.tell, sentence(error))
            return
        self.app.call_from_thread(self.show, found, records, said)

    def show(self, found: list[Standing], records: dict[str, CaseRecord], said: str) -> None:
        """One row a case."""
        today = self.app.open_door.today
        ordered = in_order(found, records)
        self.cases = {s.code: s for s in ordered}
        self.query_one("#waiting-head", Static).update(self.head(str(len(ordered))))
        self.query_one(RowList).tell([(s.code, row(s, records[s.code], today)) for s in ordered])
        self.query_one(RowList).focus()
        self.tell(said or ("" if ordered else NONE))

    def tell(self, words: str) -> None:
        """A sentence under the rows."""
        self.query_one("#waiting-says", Static).update(words)

    # keys

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """The first visit of that case."""
        event.stop()
        self.form("FirstVisitScreen")

    def action_register(self) -> None:
        """A referral only."""
        self.form("RegisterScreen", needs_case=False)

    def action_book(self) -> None:
        """A slot for the case under the cursor."""
        self.form("BookingScreen")

    def action_contact(self) -> None:
        """A call to the case under the cursor."""
        self.form("ContactScreen")

    def form(self, name: str, *, needs_case: bool = True) -> None:
        """Open a form about the case under the cursor, or about none yet."""
        door = self.app.open_door
        standing = self.cases.get(self.query_one(RowList).chosen) if needs_case else None
        if door.cannot_write:
            say(self, door.cannot_write)
        elif needs_case and standing is None:
            say(self, NONE)
        else:
            self.app.open(name, door, standing, done=self.written)

    def written(self, words: str | None) -> None:
        """Back from a form: read anew when something was written."""
        if words:
            self.read(words)

    def action_leave(self) -> None:
        """Back to the list."""
        self.dismiss(None)


def in_order(found: list[Standing], records: dict[str, CaseRecord]) -> list[Standing]:
    """Those with something for today first, then by the day of registration, the earliest first."""
    return sorted(found, key=lambda s: (s.tier != "today", records[s.code].registered_on, s.code))


def row(standing: Standing, record: CaseRecord, today: date) -> str:
    """Code, side, slot and pathway; then since when and from whom; then what the letter warns of."""
    since = f"registered {day(record.registered_on, year=False)}, {ago(record.registered_on, today)}"
    source = f"from {record.referrer}" if record.referrer else "referrer not recorded"
    booked = standing.review.booked
    hour = clock_words(standing.review.booked_at)
    slot = f"booked {day(booked, year=False)}{hour}" if booked else "none booked"
    lines = [
        f"{standing.code:<8} {standing.side:<6} {slot:<23}  {standing.pathway_name or standing.pathway}",
        f"         {since}; {source}",
        *(f"         TODAY: {reason.sentence}" for reason in standing.reasons if reason.tier == "today"),
    ]
    return "\n".join(lines)
