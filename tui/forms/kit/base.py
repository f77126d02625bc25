"""What every entry screen does alike: reads the case, shows what it will write, writes, or says why not."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.store.record.case import CaseRecord
from armrise.store.record.kinds.head import Entry
from armrise.store.record.phrase import dated
from armrise.tui.forms.kit.dayfield import DayField
from armrise.tui.forms.kit.fields import Body, Changed, Field, Write, in_order
from armrise.tui.forms.kit.keeping import LINE, KeepingScreen, foot
from armrise.tui.forms.kit.kept import Fields, texts_of
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import CLOCK, Draft, Plan, folded, sentence
from armrise.tui.shell.door import Door, Opened, new_since
from armrise.tui.widgets.hints import hinted
from armrise.tui.widgets.static import Static

WIDEST, FRAME = 100, 4
"""Columns of a form at most, and those of its frame."""
ROOMY = 30
"""Rows of a window from which on what will be written may take a few more."""
SHORT = 20
"""Rows of a window under which fields and what will be written scroll together under the head."""
MARKED = "Not written: a field above is marked."


class FormScreen(KeepingScreen[str | None]):
    """A modal form about one case. It is dismissed with what was written in words, or with None."""

    DEFAULT_CSS = """
    FormScreen { align: center top; background: $background 60%; }
    FormScreen #form { width: 100%; max-width: 100; height: 100%; max-height: 34; background: $surface;
        border: solid $accent; padding: 0 1; }
    FormScreen.-plain #form { border: ascii $accent; }
    FormScreen.-plain #form-hints { border-top: ascii $panel; }
    FormScreen #form-head { height: auto; text-style: bold; }
    FormScreen #form-lead { height: auto; color: $text-muted; }
    FormScreen #form-middle { height: 1fr; }
    FormScreen #form-body { height: 1fr; scrollbar-size-vertical: 1; }
    FormScreen #form-middle #form-body { height: auto; max-height: 100%; }
    FormScreen #form-plan { height: auto; }
    FormScreen #form-says { height: auto; color: $text-error; text-style: bold; display: none; }
    FormScreen #form-hints { height: auto; color: $text-muted; border-top: solid $panel; }
    FormScreen.-short #form { overflow-y: auto; scrollbar-size-vertical: 1; }
    FormScreen.-short #form-head { dock: top; background: $surface; }
    FormScreen.-short #form-lead { max-height: 2; }
    FormScreen.-short #form-middle { min-height: 4; }
    FormScreen.-short #form-body { height: 1fr; }
    FormScreen.-short Beneath { display: none; }
    FormScreen.-short #form-hints { max-height: 2; }
    """
    VERTICAL_BREAKPOINTS = [(0, "-short"), (SHORT, "-tall")]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave, nothing written", id="form.leave"),
        Binding("f2,ctrl+s", "write", "Write", id="form.write"),
        Binding("down", "app.focus_next", "Next field", show=False, id="form.next"),
        Binding("up", "app.focus_previous", "Field before", show=False, id="form.before"),
        Binding("pagedown", "page(1)", "Page on", show=False, id="form.page_on"),
        Binding("pageup", "page(-1)", "Page back", show=False, id="form.page_back"),
    ]
    READING: ClassVar[tuple[str, ...]] = (
        "Nothing is written before F2, or Enter on the last row; what will be written stands above that row.",
        "A field left empty is recorded as not asked, never as zero or no. A fault stands under its field.",
        "What is typed is kept, after Esc too: the form offers it again, N on the list shows it. F6, pressed "
        "twice, drops it.",
    )
    heading = ""
    write_label = "Write"
    verb = "Will write"
    keys = "F2 write   Esc leave, nothing written   F8 blank"

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door)
        self.standing = standing
        self.record: CaseRecord | None = None
        self.seen = 0
        self.last: tuple[Entry, ...] = ()
        self.confirmed = False
        self.busy = False
        self.done: str | None = None
        self.said = ""
        """What went wrong, as it is said now."""
        self.composed: Fields | None = None

    @classmethod
    def again(cls, door: Door, standing: Standing, about: str) -> FormScreen:
        """The form anew, for what was left unwritten in it; ``about`` as in :meth:`kept_as`."""
        return cls(door, standing)

    def kept_code(self) -> str:
        """The case whose draft this is."""
        return self.standing.code if self.standing else ""

    def kept_words(self) -> str:
        """What is entered, and of which case."""
        return f"{self.heading}, {self.kept_code() or 'new case'}"

    def typed_changed(self) -> None:
        """The foot says what becomes of what is typed."""
        self.hints()

    def case_now(self) -> CaseRecord | None:
        """The case as far as it is read."""
        return self.record

    # what each form says for itself

    def lead(self) -> str:
        """One or two lines under the head: what has to be known before typing."""
        return ""

    def rows(self) -> Iterable[Widget]:
        """The fields, in order."""
        return ()

    def below(self) -> Iterable[Widget]:
        """Fields that stay in sight while the rest scrolls."""
        return ()

    def beneath(self) -> Iterable[Widget]:
        """What takes the rows that the fields leave empty."""
        return ()

    def age(self) -> str:
        """The age band of the patient; empty where nobody recorded it."""
        return (self.record and self.record.age_band) or ""

    def arrived(self, record: CaseRecord) -> None:
        """The case has been read: fill in what hangs on it."""

    def plan(self) -> Plan:
        """What would be written now."""
        return Plan()

    # frame

    def compose(self) -> ComposeResult:
        """Head, fields, what will be written, what went wrong, keys."""
        with Vertical(id="form"):
            yield Static(self.head(), id="form-head", markup=False)
            yield Static("", id=LINE, markup=False)
            yield Static(self.lead(), id="form-lead", markup=False)
            with Vertical(id="form-middle"):
                with Body(id="form-body", can_focus=False):
                    yield from self.rows()
                yield from self.beneath()
            yield from self.below()
            yield Static("", id="form-plan", markup=False)
            yield Static("", id="form-says", markup=False)
            yield Write(self.write_label, key="write")
            yield Static("", id="form-hints", markup=False)

    def head(self) -> str:
        """What is entered, about whom, and that the caseload is invented when it is."""
        s = self.standing
        where = f"{s.stage} {s.stage_name}".strip() or "waiting"
        told = "   FICTIONAL CASELOAD" if self.door.fictional else ""
        return f"{self.heading}   {s.code} {s.side}   {where}{told}"

    def on_mount(self) -> None:
        """Read the case beside the painting, once: a form that fills in more may come here twice."""
        if self.composed is not None:
            return
        self.composed = texts_of(self)
        self.set_class(self.app.has_class("-ascii"), "-plain")
        self.query_one("#form-lead").display = bool(self.lead())
        self.hints()
        self.read()

    @work(thread=True, group="read")
    def read(self) -> None:
        """Fetch the whole record of the case."""
        try:
            opened = self.door.open(self.standing.code)
        except Exception as error:
            self.app.call_from_thread(self.say, sentence(error))
            return
        self.app.call_from_thread(self._arrive, opened)
        self.door.warm()

    def _arrive(self, opened: Opened) -> None:
        self.record = opened.record
        self.standing = opened.standing
        self.seen = opened.seen
        self.last = opened.last
        self.query_one("#form-head", Static).update(self.head())
        before = self.composed or {}
        early = {name: text for name, text in texts_of(self).items() if text != before.get(name, "")}
        self.arrived(opened.record)
        self.query_one("#form-lead", Static).update(self.lead())
        self.query_one("#form-lead").display = bool(self.lead())
        self.begin_keeping({name: before.get(name, "") for name in early})
        self.show_plan()

    # while typing

    def move_on(self) -> None:
        """Go on to the next field, which may have come into sight with what was just typed."""
        self.typing()
        chain = in_order(self.query_one("#form"))
        at = chain.index(self.focused) if self.focused in chain else -1
        self.set_focus(chain[(at + 1) % len(chain)])

    def on_changed(self, event: Changed) -> None:
        """Show anew what would be written."""
        event.stop()
        self.typing()
        self.show_plan()
        self.keep_soon()
        if self.said == MARKED and not any(r.fault for kind in (Field, Line) for r in self.query(kind)):
            self.say("")

    def typing(self) -> None:
        """A field has changed."""

    def on_descendant_focus(self) -> None:
        """Say the keys of the field."""
        self.hints()

    def hints(self) -> None:
        """The keys of the field that has the focus, then those of the form."""
        own = ""
        for node in self.focused.ancestors_with_self if self.focused else ():
            own = getattr(node, "hint", "")
            if own:
                break
        keys = foot(self.keys, typed=self.something_typed)
        if self.app.own_keys:
            from armrise.tui.shell.keys import in_words

            keys = in_words(self.app, self, keys)
        self.query_one("#form-hints", Static).update(hinted(f"{own}\n{keys}" if own else keys))

    def show_plan(self) -> None:
        """Print what will be written, before it is written."""
        plan = self.plan()
        text = plan.refused or self.words_to_confirm(plan) or plan.nothing
        self.query_one("#form-plan", Static).update(text)

    def words_to_confirm(self, plan: Plan) -> str:
        """What would be written, a phrase under the other, what does not fit a row indented below it.

        In a low window phrases begin further left, so that the fields above keep their rows.
        """
        phrases, lead = self.to_confirm(plan), f"{self.verb}: "
        margin = " " * (len(lead) if self.app.size.height >= ROOMY else 2)
        first = folded([lead + phrase for phrase in phrases[:1]], self.room, margin + "  ")
        rest = folded(phrases[1:], self.room - len(margin))
        return "\n".join([*first, *(margin + row for row in rest)])

    @property
    def room(self) -> int:
        """Columns inside the frame."""
        return min(self.app.size.width, WIDEST) - FRAME

    def on_resize(self) -> None:
        """Fold anew."""
        if self.record is not None:
            self.show_plan()

    def to_confirm(self, plan: Plan) -> list[str]:
        """The phrase of each entry that would be written, then what follows from them."""
        rules, year = self.door.rules, self.door.today.year
        return [*(dated(entry, rules, year=year) for entry in self.entries(plan.drafts)), *plan.then]

    def say(self, words: str) -> None:
        """One sentence about what went wrong; what was typed stays."""
        self.said = words
        says = self.query_one("#form-says", Static)
        says.update(f"! {words}" if words else "")
        says.display = bool(words)

    # leaving and writing

    def action_page(self, direction: int) -> None:
        """Scroll the fields."""
        body = self.query_one("#form-body", VerticalScroll)
        body.scroll_page_down(animate=False) if direction > 0 else body.scroll_page_up(animate=False)

    def action_leave(self) -> None:
        """Close, nothing written; what is typed is kept, also where the case is not read yet."""
        if self.busy:
            return
        if self.composed is not None:
            self.begin_keeping(self.composed)
        self.dismiss(None)

    def on_write_asked(self, event: Write.Asked) -> None:
        """Enter on the last row."""
        event.stop()
        self.action_write()

    def action_write(self) -> None:
        """Write what is planned, unless a field is at fault or the case is still being read."""
        if self.busy or self.record is None:
            return
        for typed in self.query(DayField):
            typed.settle(go_on=False)  # a day typed and not entered is still the day that is meant
        plan = self.plan()
        self.mark(plan.faults)
        if plan.refused or plan.faults:
            self.say(plan.refused or MARKED)
            return
        standing_faults = [f for f in self.query(Field) if f.fault]
        if standing_faults:
            standing_faults[0].focus()
            self.say(MARKED)
        elif not plan.drafts:
            self.say(plan.nothing)
        else:
            self.say("")
            self.keep_soon()
            self.busy = True
            self.query_one("#form-plan", Static).update("Writing ...")
            self.send(plan.drafts)

    def mark(self, faults: dict[str, str]) -> None:
        """Put each fault at its field and go to the first."""
        for number, (key, words) in enumerate(faults.items()):
            row = self.query_one(f"#{key}")
            if isinstance(row, Field | Line):
                row.fault = words
            if not number:
                row.focus()

    @work(thread=True, group="write")
    def send(self, drafts: Sequence[Draft]) -> None:
        """Write in a thread of its own; close on success, say why on refusal."""
        try:
            done = self.write_now(self.entries(drafts))
        except Exception as error:
            self.app.call_from_thread(self.refused, error)
            return
        self.end_keeping()
        self.app.call_from_thread(self.finished, done)

    def finished(self, done: str) -> None:
        """Close, or as soon as nothing (the blank screen) lies above: closing now would uncover the list."""
        self.done = done
        if self.is_active:
            self.hand_over()

    def on_screen_resume(self) -> None:
        """In sight again: close when it was written meanwhile."""
        self.hand_over()

    def hand_over(self) -> None:
        """Hand over what was written, once."""
        done, self.done = self.done, None
        if done is not None:
            self.dismiss(done)

    def entries(self, drafts: Sequence[Draft]) -> list[Entry]:
        """The drafts as entries of this author, recorded now."""
        return [self.door.draft(kind, **values) for kind, values in drafts]

    def write_now(self, entries: list[Entry]) -> str:
        """Hand the entries to the store."""
        return self.door.append(self.standing.code, entries, seen=self.seen, confirmed=self.confirmed)

    def refused(self, error: Exception) -> None:
        """Keep what was typed and say what happened; after a change elsewhere show it beside this."""
        self.busy = False
        self.show_plan()
        from armrise.store.caseload.refusal import ChangedSinceOpened

        if isinstance(error, ChangedSinceOpened):
            self.reread(error)
            return
        self.confirmed = CLOCK in str(error)
        self.say(sentence(error) + (" F2 confirms it and writes." if self.confirmed else ""))

    @work(thread=True, group="read")
    def reread(self, error: Exception) -> None:
        """Fetch the case again after somebody else has written."""
        try:
            opened = self.door.open(self.standing.code)
        except Exception as second:
            self.app.call_from_thread(self.say, sentence(second))
            return
        self.app.call_from_thread(self.changed_elsewhere, opened, sentence(error))

    def changed_elsewhere(self, opened: Opened, words: str) -> None:
        """Show both: what came in meanwhile, and what stands here unwritten."""
        before = self.record
        meanwhile = new_since(before, opened.record, self.door.words) if before else []
        self._arrive(opened)
        came = "; ".join(meanwhile) or words
        self.say(
            f"Changed since you opened it: {came}.\n  What you typed stands above, not written. "
            "F2 writes it as well; Esc leaves it unwritten, kept."
        )
