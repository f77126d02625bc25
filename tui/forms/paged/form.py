"""A form of several blocks, one in sight at a time: the keys flow from one block into the next."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import Any, ClassVar

from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widget import Widget

from armrise.store.clinic.case.standing import Standing
from armrise.tui.forms.kit.base import MARKED, FormScreen
from armrise.tui.forms.kit.fields import Field, in_order
from armrise.tui.forms.kit.line import Line
from armrise.tui.forms.kit.plan import Plan, folded
from armrise.tui.shell.door import Door
from armrise.tui.widgets.painted import ascii_terminal
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import plural

MOST_ROWS = 3
"""Rows of what will be written that stand under a block, those about the whole among them."""
ROOMY = 20
"""From so many rows of the screen on there is one to say how much the whole would write."""
ROWS_BESIDE = 14
"""Rows of the screen that are left to the rest of the form where everything is said."""


class Block(Vertical):
    """The rows of one block: as many as they are, and the body scrolls."""

    DEFAULT_CSS = "Block { height: auto; }"


class PagedForm(FormScreen):
    """A form whose rows are dealt into blocks. F2 writes all of them from anywhere."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down,tab", "forward", "Next field", show=False, id="pages.next"),
        Binding("up,shift+tab", "backward", "Field before", show=False, id="pages.before"),
        Binding("pagedown", "page(1)", "Next block", show=False, priority=True, id="pages.on"),
        Binding("pageup", "page(-1)", "Block before", show=False, priority=True, id="pages.back"),
    ]
    keys = "F2 write all   PgDn PgUp blocks   Esc leave, nothing written   F8 blank"
    titles: tuple[str, ...] = ()
    whole = ""
    """What all blocks together are called, where under each block it is said how much they would write."""
    at = 0
    writing = False
    """True on the last row."""
    _named: dict[str, Field | Line]

    def __init__(self, door: Door, standing: Standing) -> None:
        super().__init__(door, standing)
        self._named = {}
        self._block_of: dict[str, int] = {}

    # what each form says for itself

    def blocks(self) -> Sequence[Sequence[Widget]]:
        """The rows of each block, in the order of ``titles``."""
        raise NotImplementedError

    def parts(self) -> Sequence[Plan]:
        """What each block would write."""
        raise NotImplementedError

    def opened(self) -> None:
        """Another block is in sight."""

    def named(self) -> dict[str, Field | Line]:
        """The fields by their ids; looked for once, because keys come faster than a screen is searched."""
        if not self._named:
            found = (*self.query("#form-body Field"), *self.query("#form-body Line"))
            self._named = {row.id: row for row in found if row.id and isinstance(row, Field | Line)}
        return self._named

    def row(self, key: str) -> Any:
        """The field with this id."""
        return self.named()[key]

    def tell_if(self, key: str, words: str) -> None:
        """Words in a line of their own, which takes no room while there are none."""
        line = self.query_one(f"#{key}", Static)
        line.update(words)
        line.display = bool(words)

    def look_again(self) -> None:
        """Fields have come or gone."""
        self._named, self._block_of = {}, {}

    def rows_of_blocks(self) -> list[list[Field | Line]]:
        """The fields that are asked, block by block."""
        if not self._block_of:
            for number in range(len(self.titles)):
                for row in self.query(f"#block-{number} *"):
                    if row.id:
                        self._block_of[row.id] = number
        found: list[list[Field | Line]] = [[] for _ in self.titles]
        for key, row in self.named().items():
            if row.display and row.is_mounted:
                found[self._block_of.get(key, self.at)].append(row)
        return found

    # frame

    def rows(self) -> list[Widget]:
        """Every block; only one is in sight."""
        return [Block(*rows, id=f"block-{number}") for number, rows in enumerate(self.blocks())]

    def lead(self) -> str:
        """Where in the form this is, which blocks hold something, and which a fault."""
        after = f"   next: {self.titles[self.at + 1]}" if self.at + 1 < len(self.titles) else ""
        marked = (self.marked(number, rows) for number, rows in enumerate(self.rows_of_blocks()))
        here = f"{self.titles[self.at].upper()}   {' '.join(marked)}"
        return here + after if len(here + after) <= self.room else here

    def marked(self, number: int, rows: Sequence[Field | Line]) -> str:
        """The number of a block with its mark; the one in sight in brackets."""
        filled = "x" if ascii_terminal() else "✓"
        mark = "!" if any(row.fault for row in rows) else filled if any(row.value for row in rows) else ""
        return f"[{number + 1}{mark}]" if number == self.at else f"{number + 1}{mark}"

    def on_mount(self) -> None:
        """Open the first block."""
        super().on_mount()
        self.show_block()
        self.focus_end(first=True)

    def block(self) -> Widget:
        """The block in sight."""
        return self.query_one(f"#block-{self.at}")

    def chain(self) -> list[Widget]:
        """What can take the focus in the block in sight."""
        return in_order(self.block())

    def show_block(self) -> None:
        """Show the block this stands at, and no other."""
        for number in range(len(self.titles)):
            self.query_one(f"#block-{number}").display = number == self.at
        self.query_one("#form-body", VerticalScroll).scroll_home(animate=False)
        self.query_one("#form-lead").display = True
        self.opened()
        self.show_plan()

    def go(self, at: int, *, first: bool = True) -> None:
        """Open a block and go to its first or last field."""
        self.at = at
        self.show_block()
        self.focus_end(first=first)

    def focus_end(self, *, first: bool) -> None:
        """The first or last field of the block; the write row where it has none."""
        chain = self.chain() or [self.query_one("#write")]
        self.set_focus(chain[0 if first else -1])

    # moving

    def move_on(self) -> None:
        """Go on, into the next block after the last field of this one."""
        self.typing()
        self.action_forward()

    def action_forward(self) -> None:
        """The next field."""
        chain = self.chain()
        at = chain.index(self.focused) if self.focused in chain else len(chain)
        if at + 1 < len(chain):
            self.set_focus(chain[at + 1])
        elif self.at + 1 < len(self.titles):
            self.go(self.at + 1)
        else:
            self.set_focus(self.query_one("#write"))

    def action_backward(self) -> None:
        """The field before."""
        chain = self.chain()
        at = chain.index(self.focused) if self.focused in chain else len(chain)
        if at > 0:
            self.set_focus(chain[at - 1])
        elif self.at > 0:
            self.go(self.at - 1, first=False)

    def action_page(self, direction: int) -> None:
        """The next block or the one before; a block longer than the screen is scrolled first."""
        body = self.query_one("#form-body", VerticalScroll)
        more = body.scroll_offset.y < body.max_scroll_y if direction > 0 else body.scroll_offset.y > 0
        if more:
            super().action_page(direction)
        elif 0 <= self.at + direction < len(self.titles):
            self.go(self.at + direction)

    # what will be written

    def plan(self) -> Plan:
        """What every block would write, together."""
        whole = Plan()
        for part in self.parts():
            whole.drafts += part.drafts
            whole.then += part.then
            whole.faults |= part.faults
            whole.refused = whole.refused or part.refused
        return whole

    def on_descendant_focus(self) -> None:
        """On the last row everything that will be written is said."""
        super().on_descendant_focus()
        writing = self.focused is self.query_one("#write")
        if writing or self.writing:
            self.writing = writing
            self.show_plan()

    def show_plan(self) -> None:
        """What the block in sight would write and how much all would; on the last row all of it in full."""
        self.query_one("#form-lead", Static).update(self.lead())
        parts = list(self.parts())
        here = self.plan() if self.writing else parts[self.at] if self.at < len(parts) else Plan()
        room, lead = self.room, f"{self.verb}: "
        spare = self.app.size.height >= ROOMY and not self.writing
        whole = folded(self.whole_words(parts), room) if spare else []
        most = self.app.size.height - ROWS_BESIDE if self.writing else MOST_ROWS - len(whole)
        rows = [] if here.refused else self.rows_to_confirm(here, most, room - len(lead))
        said = lead + f"\n{' ' * len(lead)}".join(rows) if rows else fill(here.refused or here.nothing, room)
        self.query_one("#form-plan", Static).update("\n".join([said, *whole]))

    def whole_words(self, parts: Sequence[Plan]) -> list[str]:
        """A fault in another block, where F2 will go; else how much would be written, by which blocks."""
        for number, rows in enumerate(self.rows_of_blocks()):
            for row in rows:
                if row.fault and number != self.at:
                    return [f"! page {number + 1}: {row.fault} F2 goes there."]
        filled = [number for number, part in enumerate(parts, 1) if part.drafts and self.whole]
        if not filled or len(parts) < len(self.titles):
            return []
        entries = plural(sum(len(part.drafts) for part in parts), "entry", "entries")
        pages = "page" if len(filled) == 1 else "pages"
        return [f"{self.whole} so far: {entries}, from {pages} {', '.join(map(str, filled))}."]

    def rows_to_confirm(self, plan: Plan, most: int, width: int) -> list[str]:
        """As many phrases as ``most`` rows have room for, the rest counted; what follows is always said."""
        phrases, then = self.to_confirm(Plan(plan.drafts)), folded(plan.then, width)
        for shown in range(len(phrases), 0, -1):
            rest = len(phrases) - shown
            more = f"; and {plural(rest, 'further entry', 'further entries')}" if rest else ""
            rows = folded([*phrases[: shown - 1], phrases[shown - 1] + more], width)
            if len(rows) + len(then) <= most or shown == 1:
                return [*rows, *then]
        return then

    def mark(self, faults: dict[str, str]) -> None:
        """Open the block of the first fault before it is marked."""
        if faults:
            self.uncover(self.query_one(f"#{next(iter(faults))}"))
        super().mark(faults)

    def uncover(self, row: Widget) -> None:
        """Open the block a row is in."""
        for number in range(len(self.titles)):
            block = self.query_one(f"#block-{number}")
            if block in row.ancestors and number != self.at:
                self.at = number
                self.show_block()

    def action_write(self) -> None:
        """A field that was marked before and still is: show it."""
        faulty: list[Any] = [row for row in self.named().values() if row.fault]
        if faulty and not self.busy:
            self.uncover(faulty[0])
            faulty[0].focus()
            self.say(MARKED)
            return
        super().action_write()
