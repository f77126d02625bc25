"""Words in a box, as the screen library has them, of which nothing is ever read as markup or obeyed."""

from __future__ import annotations

from typing import Any, Literal

from textual import widgets
from textual.visual import VisualType

from armrise.store.record.visible import visible_lines


class Static(widgets.Static):
    """Text or content; text in square brackets is text, and every sign in it is seen."""

    def __init__(self, content: VisualType = "", *, markup: Literal[False] = False, **named: Any) -> None:
        super().__init__(_seen(content), markup=markup, **named)

    def update(self, content: VisualType = "", *, layout: bool = True) -> None:
        """Show this instead."""
        super().update(_seen(content), layout=layout)


def _seen(content: VisualType) -> VisualType:
    return visible_lines(content) if isinstance(content, str) else content
