"""Nothing in store/ or tui/ is there for a test alone; and the check that says so finds what is planted."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.uncalled import uncalled

TREE = {
    "store/__init__.py": """
        from armrise.store.pain import passed_on, never_passed
        __all__ = ["never_passed"]
        """,
    "store/pain.py": """
        LIMIT = 5
        UNREAD = 4
        def worst(values): return max(values, default=LIMIT)
        def itself(n): return n and itself(n - 1)
        def hidden(): return 1
        def passed_on(): return 2
        def never_passed(): return 3
        class Pain:
            unit: str = "points"
            unseen: int = 0
            @property
            def high(self): return worst([]) > 5 and self.unit
            def low(self): return self.low()
        class Row(SQLModel, table=True):
            column: int
        """,
    "store/figures.py": "def least(): return 0\ndef most(): return 10\n",
    "store/kept.py": "def opened(): return 0\ndef never_opened(): return 1\n",
    "tui/app/app.py": """
        from armrise.store import passed_on
        from armrise.store import figures
        from armrise.store import kept
        from armrise.store.pain import Pain
        class App(Base):
            BINDINGS = [Binding("h", "app.hold", "hold"), Binding("e", "form('EventScreen')", "event")]
            def begin(self, place=kept): return place.opened()
            def on_mount(self): self.begin(); self.show(Pain().high, self.BINDINGS)
            def show(self, hidden, keys): return hidden, passed_on(), figures.least()
            def action_hold(self): pass
            def action_unbound(self): pass
        class EventScreen(Base): pass
        class OtherScreen(Base): pass
        @main.command()
        def listed(): App()
        """,
}
PLANTED = [
    *("UNREAD", "itself", "hidden", "never_passed", "Pain.unseen", "Pain.low", "most", "never_opened"),
    *("App.action_unbound", "OtherScreen"),
]


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    for name, text in TREE.items():
        file = tmp_path / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text.replace("\n        ", "\n"), encoding="utf-8")
    return tmp_path


def test_everything_is_called_by_the_product() -> None:
    assert [f"{one.file.name}:{one.line}: {one.name}" for one in uncalled()] == []


def test_what_nothing_calls_is_found_and_nothing_else(tree: Path) -> None:
    assert sorted(one.name for one in uncalled(tree, ())) == sorted(PLANTED)


def test_each_is_named_with_its_place(tree: Path) -> None:
    (found,) = [one for one in uncalled(tree, ()) if one.name == "most"]
    assert (found.file, found.line) == (tree / "store" / "figures.py", 2)


def test_a_permission_that_nothing_needs_is_a_fault(tree: Path) -> None:
    found = uncalled(tree, [*(name.rpartition(".")[2] for name in PLANTED), "least"])
    assert [one.name for one in found] == ["least: allowed here, and called or gone"]
