"""The head of the board and the keys at its foot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from textual.content import Content
from textual.screen import Screen
from textual.style import Style
from textual.widget import Widget

from tui import words
from tui.widgets.painted import Painted, pushed_apart
from tui.widgets.rows import Line, Span


@dataclass
class Head:
    """What the head of the board says."""

    fictional: bool = False
    read_only: bool = False
    as_of: date | None = None
    data_until: datetime | None = None
    rules: str = ""
    signed_off: str = ""
    backup_age: timedelta | None = None
    counts: dict[str, int] = field(default_factory=dict)
    notice: str = ""
    """One sentence that stands in place of the counts per tier: the headings of the list have them too."""


class HeadBar(Painted):
    """Three lines: what this is, as of when, and how many."""

    head = Head()

    def say(self, head: Head) -> None:
        """Show this."""
        self.head = head
        self.refresh()

    def laid_out(self, width: int) -> list[Line]:
        """The three lines for a width."""
        h, inner = self.head, width - 2
        lines = [
            pushed_apart(_brand(h), _rules(h), inner),
            pushed_apart(_dates(h), _statuses(h), inner),
            _notice(h) if h.notice else _tiers(h),
        ]
        return [[Span(" "), *line] for line in lines]


def _brand(h: Head) -> Line:
    line = [Span("armrise", "accent")]
    if h.fictional:
        line.append(Span("   FICTIONAL CASELOAD", "strong"))
    if h.read_only:
        line.append(Span("   READ ONLY", "strong"))
    return line


def _rules(h: Head) -> Line:
    return [Span(words.rules_words(h.rules, h.signed_off), "accent")] if h.rules else []


def _dates(h: Head) -> Line:
    if h.as_of is None:
        return [Span("reading the caseload", "muted")]
    line = [Span(words.day(h.as_of)), Span(", " + words.data_until(h.data_until, h.as_of))]
    if h.backup_age is not None:
        line.append(Span(f", backup {words.age(h.backup_age)} old", "muted"))
    return line


def _statuses(h: Head) -> Line:
    return [Span(words.statuses(h.counts), "muted")] if h.counts else []


def _tiers(h: Head) -> Line:
    if not h.counts:
        return []
    line: Line = []
    for tier, title in words.TIER_HEADS.items():
        count = h.counts.get(tier, 0)
        style = "loud" if tier == "today" and count else "muted" if tier == "none" else ""
        line += [Span(f"{count} {title.lower()}", style), Span("   ")]
    return line


def _notice(h: Head) -> Line:
    today = h.counts.get("today", 0)
    return [Span(f"{today} today", "loud" if today else ""), Span("   "), Span(h.notice, "accent")]


class KeyBar(Widget):
    """The keys of the screen, as many as fit, and the caution. Each key can be clicked."""

    def render(self) -> Content:
        """One line of keys, one of caution."""
        caution = Content.styled(f" {words.CAUTION}", "$text-muted")
        return Content("\n").join([Content(" ") + self._keys(self.size.width - 2), caution])

    def _keys(self, width: int) -> Content:
        parts, used = [], 0
        for key, text, action in shown_keys(self.screen):
            length = len(key) + 1 + len(text) + (3 if parts else 0)
            if used + length > width:
                break
            used += length
            part = Content.assemble((key, "bold $accent"), " ", text)
            parts.append(part.stylize(Style.from_meta({"@click": action})))
        return Content("   ").join(parts)


def shown_keys(screen: Screen) -> Iterable[tuple[str, str, str]]:
    """(key as printed, what it does, action) of the bindings that a screen shows, one an action."""
    seen: set[str] = set()
    for active in screen.active_bindings.values():
        binding = active.binding
        if binding.show and binding.description and binding.action not in seen and not binding.system:
            seen.add(binding.action)
            namespace = "app." if active.node is screen.app else "screen." if active.node is screen else ""
            action = binding.action if "." in binding.action else namespace + binding.action
            yield screen.app.get_key_display(binding), binding.description, action
