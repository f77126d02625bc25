"""Help over the screen it was called from: every key by what one wants, then how to read what is there."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.dom import DOMNode
from textual.screen import ModalScreen, Screen

from armrise.store.record.light import NamedTuple
from armrise.store.record.words import PROMPT
from armrise.tui.app.keysheet import KeyOf, sheet
from armrise.tui.shell.frame import Framed, frame_of
from armrise.tui.widgets.groups import ALWAYS, HERE, MOVE
from armrise.tui.widgets.painted import Painted, ascii_terminal, plain_scroll_bar
from armrise.tui.widgets.pieces import Piece, laid
from armrise.tui.widgets.rows import Line
from armrise.tui.widgets.static import Static
from armrise.tui.words import standing as words
from armrise.tui.words.standing import FICTIONAL

ALSO = (
    f"Local codes and licensed practice prevail; a surgeon's orders prevail over every rule here. {PROMPT}",
    f"{words.CAUTION} Rules are NOT SIGNED OFF until a clinical lead has put a name to them.",
)
"""Said under the reading of every screen."""
PALETTE = KeyOf(ALWAYS.description, "Ctrl+P", "find an action")


class Action(NamedTuple):
    """An action and the node it is done by, the screen or a widget."""

    node: DOMNode
    name: str


class Sheet(Painted):
    """The keys in columns, the reading in paragraphs, as wide as the window and as high as they are."""

    keys: tuple[KeyOf, ...] = ()
    reading: tuple[Piece, ...] = ()

    def laid_out(self, width: int) -> list[Line]:
        return [
            *sheet(self.keys, width),
            [],
            *laid(self.reading, width, ascii_only=ascii_terminal()),
        ]

    def get_content_height(self, container: Any, viewport: Any, width: int) -> int:
        return len(self.laid_out(width))


class HelpScreen(Framed, ModalScreen[None]):
    """Keys, then reading, scrolled."""

    READING: ClassVar[tuple[str, ...]] = ("The keys of the screen you came from, then how to read it.",)

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,question_mark,enter", "dismiss", "back", id="help.back"),
        Binding("down,j", "scroll_by(1)", "scroll down", show=False, id="help.down"),
        Binding("up,k", "scroll_by(-1)", "scroll up", show=False, id="help.up"),
        Binding("pagedown,space", "scroll_by(15)", "page down", show=False, id="help.page_down"),
        Binding("pageup", "scroll_by(-15)", "page up", show=False, id="help.page_up"),
    ]

    def __init__(self, screen: Screen[Any]) -> None:
        super().__init__()
        told = [Piece(text) for text in (*reading(screen), *ALSO)]
        self.told = (Piece("How to read this screen", "strong"), *told)
        self.keys = tuple(keys_of(screen))

    def compose(self) -> ComposeResult:
        """A head with the way back, and the sheet."""
        with Vertical(id="help"):
            fictional = f"   {FICTIONAL}" if self.app.fictional else ""
            yield Static(f"Keys and reading   Esc closes   PgDn goes on{fictional}", id="help-head")
            with VerticalScroll(id="help-body", can_focus=False):
                yield Sheet(id="help-text")

    def on_mount(self) -> None:
        """Fill in."""
        plain_scroll_bar(self.query_one("#help-body"))
        self.query_one("#help").border_title = self.app.as_known  # it may cover the mark beneath
        told = self.query_one(Sheet)
        told.keys, told.reading = self.keys, self.told
        told.refresh(layout=True)

    def action_scroll_by(self, lines: int) -> None:
        """Scroll."""
        self.query_one("#help-body").scroll_relative(y=lines, animate=False)


def reading(screen: Screen[Any]) -> tuple[str, ...]:
    """How to read a screen: the text that lives with it."""
    return screen.READING if isinstance(screen, Framed) else ()


def keys_of(screen: Screen[Any]) -> list[KeyOf]:
    """Every action of ``screen`` with its keys, in the order in which they are stated."""
    found = [KeyOf(group, " ".join(keys), does) for group, does, keys, *_ in described(screen)]
    return [*found, PALETTE]


def described(screen: Screen[Any]) -> Iterable[Described]:
    """Every action in force on ``screen`` that is stated in this program, with every key that does it."""
    app = frame_of(screen)
    found: dict[Action, Described] = {}
    for active in screen.active_bindings.values():
        binding = active.binding
        if not binding.id:
            continue
        action = Action(active.node, binding.action)
        group = group_of(binding, active.node)
        told = found.setdefault(action, Described(group, binding.description, [], action, binding.priority))
        key = app.get_key_display(binding)
        told.keys.extend([key] if key and key not in told.keys else [])
    known = {MOVE.description: 1, ALWAYS.description: 2}
    return sorted(
        found.values(), key=lambda told: (known.get(told.group, 0), told.group in known and told.late)
    )


class Described(NamedTuple):
    """An action as help and palette tell it."""

    group: str
    does: str
    keys: list[str]
    action: Action
    late: bool
    """True for a key that is in force everywhere, and told after those of its group that are not."""


def group_of(binding: Binding, node: DOMNode) -> str:
    """The heading of a key: what is said with it, else what is said of all keys of its screen or widget."""
    if binding.group is not None:
        return binding.group.description
    return HERE.description if isinstance(node, Screen) else MOVE.description
