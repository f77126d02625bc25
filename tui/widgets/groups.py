"""What a key is for: said with the binding itself, and the headings of the help of a screen."""

from __future__ import annotations

from textual.binding import Binding

DAY = Binding.Group("every day")
CASE = Binding.Group("on this case")
DECIDE = Binding.Group("decide")
LOOK = Binding.Group("look")
PAST = Binding.Group("weekly, monthly, past")
HERE = Binding.Group("on this screen")
MOVE = Binding.Group("move")
ALWAYS = Binding.Group("always")
