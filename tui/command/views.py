"""``armrise views``: the views of the list with their keys, and a clinic's own among them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import tell
from armrise.tui.command.reading import STORE, STORE_HELP

if TYPE_CHECKING:
    from armrise.store.database.place import Store
    from armrise.store.database.server.address import Where


@click.command(cls=Command)
@click.option("--add", metavar="VIEW", help='A view of your own: "name = words to search for".')
@click.option("--drop", metavar="NAME", help="Forget the view of your own by that name.")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@click.option("--store", type=STORE, metavar="STORE", help=STORE_HELP)
def views(add: str | None, drop: str | None, as_json: bool, store: Where | None) -> None:
    """Print the views of the list, each with the digit that shows it.

    Your clinic's own begin at 6: a name, and what the list is searched for; words in "quotation marks" belong
    together.
    """
    from armrise.store.caseload import named_views as own
    from armrise.tui.shell.intake import Source, load_rules, opened
    from armrise.tui.widgets.views import SHIPPED

    if add is not None and drop is not None:
        raise click.UsageError("--add and --drop exclude each other, give one of them")
    changes = add is not None or drop is not None
    with opened(Source(demo=False, caseload=None, store=store), load_rules(), writing=changes) as of:
        if add is not None:
            own.add_view(of, add, [view.name for view in SHIPPED])
        if drop is not None:
            own.drop_view(of, drop)
        found = _rows(of)
        tell(
            as_json,
            "views",
            lambda: {"views": found},
            lambda: "".join(f"{line}\n" for line in map(_line, found)),
        )


def _rows(store: Store) -> list[dict[str, str | None]]:
    from armrise.store.caseload.named_views import named_views
    from armrise.tui.widgets.views import numbered

    views = numbered(named_views(store))
    return [{"key": key, "name": view.name, "text": view.text or None} for key, view in views.items()]


def _line(view: dict[str, str | None]) -> str:
    return f"{view['key']}  {view['name']}" + (f" = {view['text']}" if view["text"] else "")
