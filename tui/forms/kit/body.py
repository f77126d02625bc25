"""Where the fields of a form stand, as high as there is room."""

from __future__ import annotations

from textual.containers import VerticalScroll


class Body(VerticalScroll, inherit_bindings=False):
    """The fields. Arrow keys go from one to the next, also where there is more to scroll."""

    def on_resize(self) -> None:
        """What stands below grows with what is typed: the field of the next key stays in sight."""
        focused = self.screen.focused
        if focused is not None and self in focused.ancestors:
            self.call_after_refresh(self.scroll_to_widget, focused, animate=False)
