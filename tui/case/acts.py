"""The weighty acts of a case behind one key: a menu at the foot, whose letters act on nothing else.

A step, a hold, a referral or an ending is never one slip of the shift key away from something harmless.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import ModalScreen

from armrise.store.record.light import NamedTuple
from armrise.tui.shell.frame import Framed
from armrise.tui.shell.keyname import printed
from armrise.tui.widgets.groups import ALWAYS, DECIDE
from armrise.tui.widgets.static import Static
from armrise.tui.words.standing import CAUTION

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing

MENU = "case.acts"
"""The id of the key that opens the menu."""


class Act(NamedTuple):
    """A weighty act: its letter in the menu, the id of the action, and its words, long and short."""

    letter: str
    id: str
    words: str
    short: str


ACTS = (
    Act("f", "case.step_forward", "step forward", "forward"),
    Act("b", "case.step_back", "step back", "back"),
    Act("h", "case.hold", "hold", "hold"),
    Act("r", "case.refer", "refer", "refer"),
    Act("d", "case.discharge", "discharge", "discharge"),
)
REOPEN = "reopen"
"""The last act of a closed case."""


def way(name: str, own: Mapping[str, str]) -> str:
    """The keys to an act of the menu, "a b", by the user's ``own`` keys; empty for any other action."""
    for act in ACTS:
        if act.id == name:
            return f"{printed(own.get(MENU, 'a'))} {printed(own.get(in_menu(act), act.letter))}"
    return ""


def in_menu(act: Act) -> str:
    """The id of the letter of an act."""
    return act.id.replace("case.", "acts.")


class ActsMenu(Framed, ModalScreen[str]):
    """Every weighty act with its letter, at the foot. Dismissed with the id of the action, empty for none."""

    READING: ClassVar[tuple[str, ...]] = (
        "What changes where a patient stands: step, hold, refer, discharge. Each opens its form, which says "
        "what it will write and writes nothing by itself.",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(act.letter, f"choose('{act.id}')", act.words, id=in_menu(act), group=DECIDE)
            for act in ACTS
        ),
        Binding("escape", "choose('')", "close the menu", id="acts.leave"),
        Binding("x", "app.blank", "blank", show=False, id="acts.blank", group=ALWAYS),
    ]

    def __init__(self, standing: Standing) -> None:
        super().__init__()
        self.standing = standing

    def compose(self) -> ComposeResult:
        """One row, or as many as it takes."""
        yield Static("", id="acts")

    def on_mount(self) -> None:
        """From now on keys count: one that came with the key that opened the menu chooses nothing."""
        self.opened_at = time.monotonic()
        self.on_resize()

    def on_resize(self) -> None:
        """The longest words that stand on one row."""
        told = row(self.standing, self.app.own_keys, self.size.width - 2)
        caution = Content.styled(CAUTION, "$text-muted")
        self.query_one("#acts", Static).update(Content("\n").join([told, caution]))

    def action_choose(self, name: str) -> None:
        """Close, and have it done."""
        self.dismiss(name)


def row(standing: Standing, own: Mapping[str, str], width: int) -> Content:
    """The menu in the longest wording of one row of ``width`` columns; else the case on a row of its own."""
    case = Content.styled(f"{standing.code} {standing.side}", "bold")
    for acts in (_worded(standing, own, long=True), _worded(standing, own, long=False)):
        told = Content("  ").join([case, acts])
        if told.cell_length <= width:
            return told
    return Content("\n").join([case, acts])


def _worded(standing: Standing, own: Mapping[str, str], *, long: bool) -> Content:
    """Every act with its letter, and the way out."""
    parts: list[Content] = []
    for act in ACTS:
        words = act.words if long else act.short
        if act.id == "case.discharge" and standing.status == "closed":
            words = REOPEN
        key = printed(own.get(in_menu(act), act.letter))
        parts.append(Content.assemble((key, "bold"), (f" {words}", "$text-muted")))
    return Content("  ").join([*parts, Content.styled("Esc", "bold")])
