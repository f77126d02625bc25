"""The morning list: head, list, five-second pane, keys; and what it says while there is no list to show."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.screen import Screen

from armrise.tui.board.backing_up import BackingUp
from armrise.tui.board.marks import OwnMarks
from armrise.tui.board.printing import Printing
from armrise.tui.board.reader import READING
from armrise.tui.board.searching import Searching
from armrise.tui.case.actions import NO_CASE
from armrise.tui.shell import opening
from armrise.tui.shell.fault import in_a_sentence
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.say import say
from armrise.tui.widgets.bars import Head, HeadBar, KeyBar
from armrise.tui.widgets.caselist import CaseList
from armrise.tui.widgets.columns import Plan
from armrise.tui.widgets.groups import DAY, MOVE, PAST
from armrise.tui.widgets.listing import Listing
from armrise.tui.widgets.painted import Painted
from armrise.tui.widgets.pane import LEAD, compact, five_seconds
from armrise.tui.widgets.pieces import FittedAccount
from armrise.tui.widgets.rows import Line, heads
from armrise.tui.widgets.static import Static
from armrise.tui.widgets.views import numbered
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

EMPTY = (
    "No cases yet.\n\n"
    "n   new case, first visit\nA   referrals awaiting a first visit: register one there\n\n"
    "Load a caseload file:   armrise load FILE\nor look at the demo:    armrise demo\n\n?   help   q   leave"
)
HOW_TO_READ = (
    "The list asks: whom must somebody act on today who is not already coming in?",
    "TODAY: possible red flag, new injury, healing limit broken. HARM IF LEFT: urgent message, losing lift "
    "or strength, finding to act on, flare not settling, protected case out of sight, losing range, worse at "
    "visits, worse, or not responding, safety answers missing. CONTACT OWED: message not answered, review "
    "overdue, missed visit unanswered, nothing recorded. MOVE ON: ready to step forward, red-flag question "
    "due, seldom done, over the limit, range not measured, long in stage, outcome score due, letter owed, "
    "range to watch.",
    "A case in hand stays under TODAY until its outcome is recorded. Cases of TODAY that a search or a view "
    "leaves out are counted under their heading.",
    "A search finds every word that a row shows, the code before anything else, and the referrer; words in "
    '"quotation marks" belong together. Enter opens the one case it means. Digits are the number of a case, '
    "or of a view: 1 all, 2 coming in today, 3 none booked, 4 ready, 5 my marks, from 6 on your own.",
    '"here 09:20": coming in today anyway, at that time.',
    "A row of TODAY or HARM IF LEFT says its reason whole, any other in one line; the row under the cursor "
    "says it all, and what to do.",
    "Rows never move by themselves, not even when something was written: S sorts them, and so does the end "
    "of the weekly sweep. ✓ something was written, • something came in since you last looked, * your mark: "
    "Space sets it and takes it away, and G hands the marked cases over as a sheet, shown and copied.",
    "Pain is 0 none to 10 worst: during exercise / later that day / on the next morning. Where no number is: "
    "? not asked, - not measured, d declined, p prohibited. None of these is zero.",
    "The small trend is next-morning pain, oldest first; a dot is a morning without a score, X is ten.",
    '"9 days overdue, of 21": the review interval is 21 days.',
    "P writes the list as it is shown as a page for paper, with a box to tick beside each case.",
    "NO BACKUP: no copy of this caseload is known. B makes one, and so does leaving. From a day on its age "
    "is said.",
    "A verdict is READY, NOT YET, UNKNOWN (with the one thing to record), STEP BACK ADVISED, REFER, ON HOLD.",
)
"""The reading of the list, in its help."""
MORE = "{} more rows are being read"
LEAST = (60, 15)
PANE_FROM, PANE_WIDER_FROM = 142, 162
"""Columns from which the pane stands beside a list that keeps 100; below, its key opens it under the list."""
PANE, PANE_WIDER = 40, 50
PANE_UNDER, PANE_UNDER_TALL, TALL = 10, 13, 36
"""Lines of the pane under the list, and from which height of the window it has more of them."""


class BoardScreen(OwnMarks, BackingUp, Printing, Searching):
    """The caseload on one clinic date."""

    READING = HOW_TO_READ
    KEYED = (CaseList,)
    BINDINGS: ClassVar[list[BindingType]] = [
        *OwnMarks.BINDINGS,
        *BackingUp.BINDINGS,
        *Printing.BINDINGS,
        *Searching.BINDINGS,
        Binding("S", "sort", "sort again", id="list.sort", group=DAY),
        Binding("L", "compact", "one line a case", show=False, id="list.compact", group=DAY),
        Binding("tab", "pane", "more of the case", show=False, id="list.pane", group=DAY),
        Binding("W", "sweep", "weekly sweep", show=False, id="list.sweep", group=PAST),
        Binding("M", "audit", "audit of a month", show=False, id="list.audit", group=PAST),
        Binding("V", "verify", "verify the store", show=False, id="list.verify", group=PAST),
        Binding("I", "sheet", "spreadsheet in", show=False, id="list.sheet", group=PAST),
        Binding("n", "new_case", "new case", show=False, id="list.new_case", group=DAY),
        Binding("A", "waiting", "referrals waiting", show=False, id="list.waiting", group=DAY),
        Binding("N", "unwritten", "unwritten forms", show=False, id="list.unwritten", group=DAY),
        Binding("E", "closed", "closed cases", show=False, id="list.closed", group=PAST),
        Binding("T", "trial", "trial of new rules", show=False, id="list.trial", group=PAST),
        Binding("Z", "replay", "as known then", show=False, id="list.replay", group=PAST),
        Binding("<", "replay_day(-1)", "a day earlier", show=False, id="list.replay_earlier", group=MOVE),
        Binding(">", "replay_day(1)", "a day later", show=False, id="list.replay_later", group=MOVE),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.listing = Listing()
        self.head = Head()
        self.signed = ""
        self.state = READING
        self.pane_asked: bool | None = None
        """Whether the pane was asked for or put away; None as the width has it."""
        self._arranged: tuple[object, ...] = ()
        """What the room was last arranged for: a window says its size more than once."""

    def compose(self) -> ComposeResult:
        """The frame, painted before anything is read."""
        yield HeadBar(id="head")
        with Container(id="middle", classes="" if self.app.size.width >= PANE_FROM else "-under"):
            with Vertical(id="left"):
                yield Painted(id="heads")
                yield CaseList(self.listing, self._show_case, self._show_heads)
                yield Static(READING, id="state", markup=False)
            yield FittedAccount(id="pane")
        yield KeyBar(id="keys")
        yield Static(id="small", markup=False)

    def on_mount(self) -> None:
        """Have the caseload read once the frame is on the screen."""
        self.head.fictional = self.app.fictional
        self.query_one(HeadBar).say(self.head)
        self.show_state(READING)
        self.call_after_refresh(self.read_first)

    # what was read

    def take(self, reading: opening.Reading, *, sort: bool, admit: bool = False, said: str = "") -> None:
        """Show what was read; rows move only when ``sort``, a new case comes in when ``admit``."""
        standings, head, door = reading.standings, reading.head, self.app.open_door
        newest = head["data_until"]
        if sort:
            self.listing.sort(standings)
        else:
            self.listing.refresh(standings, reading.off, admit=admit)
        self.listing.news, self.listing.marked = set(reading.news), set(reading.marked)
        self.views = numbered(head["views"])
        self.head = Head(
            fictional=head["fictional"],
            read_only=bool(door.cannot_write),
            as_of=head["as_of"],
            plays=head["plays"],
            data_until=door.local(newest) if newest else None,
            rules=head["rules"],
            signed_off=head["signed_off"],
            backup_age=head["backup_age"],
            backup_owed=head["backup_owed"],
            unsound=head["unsound"],
            unwritten=reading.unwritten,
            counts={**(reading.counts or words.counts(standings)), "waiting": reading.waiting},
            notice=said or (MORE.format(reading.more) if reading.more else ""),
        )
        self.signed = words.rules_words(self.head.rules, self.head.signed_off) if self.head.rules else ""
        self.show_state("" if standings else self._nothing(reading.waiting))
        self.lay_out()
        self.keep_soon()

    @staticmethod
    def _nothing(waiting: int) -> str:
        if not waiting:
            return EMPTY
        return f"No case is being treated; {words.plural(waiting, 'referral')} waiting for a first visit."

    def lay_out(self) -> None:
        """Head, list and pane from the listing as it is."""
        cases = self.query_one(CaseList)
        cases.keys = self.app.act_keys
        cases.rebuild()
        self.query_one(KeyBar).explain(*self.listing.legend(ascii_only=cases.ascii_only))
        self.query_one(HeadBar).say(self._head_now())
        self._show_case()
        for screen in self.app.screen_stack:
            if isinstance(screen, Framed):
                screen.update()

    def _head_now(self) -> Head:
        said = [self.head.notice] if self.head.notice else []
        if self.listing.moves:
            said.append(f"{words.plural(self.listing.moves, 'row')} would move: S sorts")
        if self.listing.filter:
            found, so_far = len(self.listing.found()), " so far" if self.listing.partly else ""
            said.append(f'{words.plural(found, "case")}{so_far} for "{self.listing.filter}"')
        return replace(self.head, notice="; ".join(said), views=self.view_bar())

    # states

    def failed(self, error: Exception) -> None:
        """Nothing can be shown: say what, and what next."""
        self.app.broken = True
        told = in_a_sentence(error)
        self.show_state(f"The caseload cannot be shown.\n\n{told}\n\nq leaves. Nothing was changed.")

    def show_state(self, state: str) -> None:
        """Words in place of the list; none when there is a list."""
        self.state = state
        self.query_one("#state", Static).update(state)
        self.query_one("#state").display = bool(state)
        self.query_one(CaseList).display = not state
        self.unshown = ("case.", "list.") if state else ()
        self.query_one(KeyBar).refresh()
        self.arrange_room(*self.size)

    def notice(self, said: str) -> None:
        """One sentence in the head."""
        self.head.notice = said
        self.query_one(HeadBar).say(self._head_now())

    def verified(self, sound: bool) -> None:
        """The head says of a store that it is not sound, until it is found sound."""
        from armrise.tui.shell.door import UNSOUND

        self.head.unsound = "" if sound else UNSOUND
        self.query_one(HeadBar).say(self._head_now())

    def on_resize(self, event: events.Resize) -> None:
        """A window too small for a safe reading says so instead of showing half of it."""
        self.arrange_room(*event.size)

    def arrange_room(self, width: int, height: int) -> None:
        """What is shown at this size: where the pane stands if it does, and words where it is too small."""
        asked = (width, height, bool(self.state), self.pane_asked)
        if asked == self._arranged:
            return
        self._arranged = asked
        small = width < LEAST[0] or height < LEAST[1]
        beside, pane = width >= PANE_FROM, self.query_one("#pane")
        pane.display = not self.state and (beside if self.pane_asked is None else self.pane_asked)
        self.query_one("#middle").set_class(not beside, "-under")
        pane.styles.width = "100%" if not beside else PANE_WIDER if width >= PANE_WIDER_FROM else PANE
        pane.styles.height = "1fr" if beside else PANE_UNDER if height < TALL else PANE_UNDER_TALL
        self.query_one("#heads").display = not self.state
        for name in ("#head", "#middle", "#keys"):
            self.query_one(name).display = not small
        self.query_one("#small").display = small
        text = f"This window is {width} by {height}; armrise needs {LEAST[0]} by {LEAST[1]}: make it larger."
        self.query_one("#small", Static).update(text if small else "")

    # the case in view

    def in_view(self) -> Standing | None:
        """The case under the cursor."""
        return self.listing.case(self.query_one(CaseList).cursor)

    def next_below(self, standing: Standing) -> Standing | None:
        """The case next below in the list."""
        return self.listing.after(standing.code)

    def written(self, words: str, code: str = "") -> None:
        """Something was written about the case in view, or the one named: read anew, every row stays."""
        in_view = self.in_view()
        self.listing.wrote(code or (in_view.code if in_view else ""))
        self.read_again(sort=False)

    def _show_case(self) -> None:
        """The pane follows the cursor."""
        standing = self.in_view()
        pane = self.query_one("#pane", FittedAccount)
        if standing is None:
            pane.tell([])
        else:
            keys, beside = self.app.act_keys, self.size.width >= PANE_FROM
            shorter = compact(standing, self.signed, 0 if beside else LEAD, keys=keys, joined=True)
            pane.tell(five_seconds(standing, self.signed, keys) if beside else shorter, shorter)

    def _show_heads(self, plan: Plan, heading: Line) -> None:
        """The column heads stand over the columns, led by the heading of the rows in sight."""
        self.query_one("#heads", Painted).show([heads(plan, heading)])

    def on_case_list_opened(self, event: CaseList.Opened) -> None:
        """The whole account of a case; where the filter asks for none, the words for it."""
        if not event.code:
            say(self, self.listing.nothing() or NO_CASE)
        else:
            self.open_case(event.code)

    def open_case(self, code: str) -> None:
        """The whole account of a case."""
        from armrise.tui.case.case import CaseScreen

        self.app.push_screen(CaseScreen(self, code), lambda _: self.lay_out())

    # keys

    def action_new_case(self) -> None:
        """The first visit of a case that is not registered yet."""
        app = self.app
        if app.unwritable:
            say(self, app.unwritable)
        else:
            app.open("FirstVisitScreen", app.door, done=partial(self._done, ""))

    def action_sort(self) -> None:
        """Sort the rows again."""
        self.read_again()

    def action_compact(self) -> None:
        """One line a case, or each as it is."""
        cases = self.query_one(CaseList)
        cases.compact = not cases.compact
        cases.rebuild()

    def action_pane(self) -> None:
        """Open the pane, or put it away."""
        self.pane_asked = not self.query_one("#pane").display
        self.arrange_room(*self.size)

    def action_sweep(self) -> None:
        """The weekly sweep."""
        from armrise.tui.pages.sweep import open_sweep

        open_sweep(self)

    def action_audit(self) -> None:
        """Count a month."""
        from armrise.tui.pages.audit import open_audit

        open_audit(self)

    def action_trial(self) -> None:
        """Run changed rules over the recorded history."""
        from armrise.tui.pages.trial import open_trial

        open_trial(self)

    def action_verify(self) -> None:
        """Look whether the store is as it was written."""
        from armrise.tui.pages.verified import open_verified

        open_verified(self)

    def action_sheet(self) -> None:
        """Take the rows of a clinic's own spreadsheet."""
        from armrise.tui.sheets.screen import open_sheet

        open_sheet(self)

    def action_closed(self) -> None:
        """Find a closed case by its code and reopen it."""
        from armrise.tui.board.closed import find_closed

        find_closed(self)

    def action_waiting(self) -> None:
        """The referrals that wait for a first visit."""
        from armrise.tui.board.waiting import WaitingScreen

        self._open_above(WaitingScreen)

    def action_unwritten(self) -> None:
        """The forms that were left unwritten."""
        from armrise.tui.board.unwritten import UnwrittenScreen

        self._open_above(UnwrittenScreen)

    def _open_above(self, screen: Callable[[], Screen[Any]]) -> None:
        """A list of its own, once the caseload is open; then this one is read anew, with its new cases."""
        if self.app.unread:
            say(self, self.app.unread)
        else:
            self.app.push_screen(screen(), self._back_from_above)

    def _back_from_above(self, _: Any) -> None:
        self.read_again(sort=False)
