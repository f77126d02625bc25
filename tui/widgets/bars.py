"""The head of the board and the keys at its foot."""

from __future__ import annotations

from dataclasses import field, replace
from datetime import date, datetime, timedelta
from typing import Any

from textual import events
from textual.app import App
from textual.content import Content
from textual.screen import Screen
from textual.style import Style
from textual.widget import Widget

from armrise.store.record.light import NamedTuple, dataclass
from armrise.tui.widgets.painted import Painted, pushed_apart
from armrise.tui.widgets.rows import Line, Span, length
from armrise.tui.words import standing as words


@dataclass()
class Head:
    """What the head of the board says."""

    fictional: bool = False
    read_only: bool = False
    as_of: date | None = None
    plays: bool = False
    """The clinic date is another day than today, and stays it."""
    data_until: datetime | None = None
    rules: str = ""
    signed_off: str = ""
    backup_age: timedelta | None = None
    backup_owed: bool = False
    """True for a caseload that lasts and holds something."""
    counts: dict[str, int] = field(default_factory=dict[str, int])
    unwritten: int = 0
    notice: str = ""
    """One sentence that stands in place of the counts per tier: the headings of the list have them too."""
    unsound: str = ""
    """What there is to say of a store that was not found as it was written."""
    views: tuple[tuple[str, bool], ...] = ()
    """Each view of the list with key and count, and whether it is shown; empty while every case is."""


LATE = timedelta(days=1)
"""From this age on the last backup is spoken of. Leaving makes one that is as old, so it is missing then."""


class HeadBar(Painted):
    """Two lines: what this is and as of when; how many, or what there is to say."""

    head = Head()

    def say(self, head: Head) -> None:
        """Show this; where it is shown already, nothing is painted."""
        if head != self.head:
            self.head = replace(head)
            self.refresh()

    def laid_out(self, width: int) -> list[Line]:
        h, inner = self.head, width - 2
        first, left_over = _first(h, inner)
        led = [span for part in left_over if part for span in (*part, Span("   "))]
        return [[Span(" "), *line] for line in (first, _counted(h, led, inner))]


def _first(h: Head, width: int) -> tuple[Line, list[Line]]:
    """The first line as it fits, and what begins the second one: the program's name goes first, then the
    dates move down, then the word about the backup. What a store is, and the rules, stay."""
    rules = [Span(words.rules_words(h.rules, h.signed_off), "strong")] if h.rules else []
    kept, dated, brands = _backup(h), _dates(h), (_brand(h), _brand(h, named=False))
    late = [Span(f", {words.late_backup(h.backup_age)}", "muted")] if kept and h.backup_age else []
    tried: list[tuple[list[Line], list[Line]]] = []
    if late:
        tried += [([*parts, [*dated[0], *late]], []) for parts in brands]
    tried += [([*parts, *kept, dates], []) for parts in brands for dates in dated]
    tried += [([*parts, *kept], dated[-1:]) for parts in brands]
    tried += [(brands[1], [*kept, dated[-1]])]
    for parts, left_over in tried:
        if length(_apart(parts)) + 2 + length(rules) <= width:
            return pushed_apart(_apart(parts), rules, width), left_over
    return pushed_apart(_apart(brands[1]), rules, width), [*kept, dated[-1]]


def _apart(parts: list[Line]) -> Line:
    """The parts with room between them."""
    return [span for part in parts if part for span in (*part, Span("   "))][:-1]


def _counted(h: Head, led: Line, width: int) -> Line:
    """What there is to say, or the counts a tier; then those by status. Headings count their tiers too."""
    statuses = [Span(words.statuses(h.counts), "muted")] if h.counts else []
    if h.views:
        said = [*led, *([Span(h.notice, "strong"), Span("   ")] if h.notice else [])]
        return pushed_apart([*said, *_views(h, width - length(said))], statuses, width)
    tiers = _tiers(h)
    said = [*tiers[:1], [Span(h.notice, "strong")]]
    lefts = [said] if h.notice else [tiers[:shown] for shown in range(len(tiers), 0, -1)]
    for right in (statuses, []):
        for left in lefts[:-1] if right else lefts:
            line = [*led, *_apart(left)]
            if length(line) + 2 + length(right) <= width:
                return pushed_apart(line, right, width)
    return [*led, *_apart(lefts[-1] if lefts else [])]


def _views(h: Head, width: int) -> Line:
    """The views, the one shown in brackets; where they do not fit, the last others are left out."""
    views = list(h.views)
    while True:
        named = [Span(f"[{text}]", "strong") if shown else Span(text, "muted") for text, shown in views]
        line = [span for view in named for span in (view, Span("  "))][:-1]
        if length(line) <= width or len(views) == 1:
            return line
        views.remove(next(view for view in reversed(views) if not view[1]))


def _brand(h: Head, *, named: bool = True) -> list[Line]:
    parts = ["armrise"] if named else []
    parts += [words.FICTIONAL] if h.fictional else []
    if h.unsound:
        parts.append(h.unsound)
    if h.read_only:
        parts.append("READ ONLY")
    elif h.unwritten:
        parts.append(f"{words.plural(h.unwritten, 'form')} unwritten: N")
    return [[Span(part, "strong")] for part in parts]


def _backup(h: Head) -> list[Line]:
    """That a caseload which is to last has no copy anywhere, or none of late."""
    if h.backup_age is None:
        return [[Span("NO BACKUP", "strong")]] if h.backup_owed else []
    return [[Span(words.late_backup(h.backup_age))]] if h.backup_age >= LATE else []


def _dates(h: Head) -> list[Line]:
    """Clinic date and age of the data, the longer wording first."""
    if h.as_of is None:
        return [[]]
    data = words.data_until(h.data_until, h.as_of)
    played = "plays " if h.plays else ""
    return [[Span(f"{played}{when}, {data}")] for when in (words.day(h.as_of), words.day(h.as_of, h.as_of))]


def _tiers(h: Head) -> list[Line]:
    found: list[Line] = []
    for tier, title in words.TIER_HEADS.items() if h.counts else ():
        count = h.counts.get(tier, 0)
        style = "loud" if tier == "today" and count else "muted" if tier == "none" else ""
        found.append([Span(f"{count} {title.lower()}", style)])
    return found


SHORT = {
    "app.leave": "leave",
    "case.acts": "act",
    "case.contact": "phone",
    "case.step_forward": "forward",
    "case.step_back": "back",
    "case.undo": "undo",
    "case.why_above": "why here",
    "list.sort": "sort",
    "sweep.minutes": "minutes",
}
"""Shorter words at the foot, by binding id; help and palette have the long ones."""
LAST = ("app.help",)


class KeyBar(Widget):
    """The keys of the screen, as many as fit, help always; each can be clicked. Below them the caution."""

    said = ""
    """One line in place of the keys: what is being typed on the screen itself."""

    legend: tuple[str, ...] = ()

    def explain(self, *legend: str) -> None:
        """Show what the marks mean beside the caution: the first of these wordings that fits."""
        if legend != self.legend:
            self.legend = legend
            self.refresh()

    def say(self, said: str) -> None:
        """Show a line in place of the keys; "" shows them again."""
        if said != self.said or not said:  # the keys are others where the focus is elsewhere
            self.said = said
            self.refresh()

    async def on_click(self, event: events.Click) -> None:
        """Do what the key under the pointer does."""
        if action := event.style.meta.get("key_action"):
            event.stop()
            await self.run_action(action)

    def render(self) -> Content:
        """One line of keys, one of caution."""
        width = self.size.width - 1
        room = width - len(words.CAUTION) - 3
        legend = next((told for told in self.legend if len(told) <= room), "")
        told = f" {words.CAUTION}" + (f"{legend:>{room + 1}}" if legend else "")
        caution = Content.styled(told, "$text-muted")
        line = Content.styled(words.fit(self.said, width), "bold") if self.said else self._keys(width)
        return Content("\n").join([Content(" ") + line, caution])

    def _keys(self, width: int) -> Content:
        keys = shown_keys(self.screen)
        kept = [k for k in keys if k.id in LAST]
        room = width - sum(k.width + 2 for k in kept)
        for key in (k for k in keys if k.id not in LAST):
            room -= key.width + 2
            if room < -2:
                break
            kept.insert(len(kept) - 1, key)
        return Content("  ").join(key.content() for key in kept)


class Key(NamedTuple):
    """A key at the foot."""

    id: str
    printed: str
    text: str
    action: str

    @property
    def width(self) -> int:
        return len(self.printed) + 1 + len(self.text)

    def content(self) -> Content:
        """Key and words, to be clicked."""
        text = Content.assemble((self.printed, "bold"), (f" {self.text}", "$text-muted"))
        return text.stylize(Style.from_meta({"key_action": self.action}))


def shown_keys(screen: Screen[Any]) -> list[Key]:
    """The bindings that a screen shows, one an action, the list's own first."""
    keys: dict[str, Key] = {}
    dead: tuple[str, ...] = getattr(screen, "unshown", ())
    every = screen.active_bindings  # put together anew each time it is asked for
    for active in every.values():
        binding = active.binding
        leads_out = binding.id != "app.leave" or "escape" not in every
        alive = binding.show and not (binding.id or "").startswith(dead)
        if alive and binding.id and leads_out and binding.action not in keys:
            above = "screen" if active.node is screen else "focused"
            namespace = "app" if isinstance(active.node, App) else above
            action = f"{namespace}.{binding.action}"
            text = SHORT.get(binding.id, binding.description)
            # the frame stands above this room, and an application of any kind is what a screen knows
            printed = screen.app.get_key_display(binding)  # pyright: ignore[reportUnknownMemberType]
            keys[binding.action] = Key(binding.id, printed, text, action)
    return list(keys.values())
