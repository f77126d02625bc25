"""Running changed rules over the recorded history from the command line: a bar, and a stop that keeps."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import tell as print_as
from armrise.tui.command.reading import CLINIC_DATE, AsOf, seen, sources
from armrise.tui.command.typed.progress import progress_bar
from armrise.tui.shell.intake import Source, load_rules

if TYPE_CHECKING:
    from armrise.store.clinic.audit.trial import Trial
    from armrise.store.database.place import Store
    from armrise.store.rules.pathway import Rules


@click.command(cls=Command)
@click.argument("new")
@click.option("--against", metavar="OLD", help="The version to compare with, instead of that in force.")
@click.option("--from", "since", type=CLINIC_DATE, metavar="DATE", help="Count from that date on.")
@click.option("--json", "as_json", is_flag=True, help="As a JSON object.")
@sources
def trial(
    source: Source, new: str, against: str | None, since: date | None, as_json: bool, as_of: AsOf
) -> None:
    """Run the version NEW over the recorded history day by day: what would have read differently?

    A version is a number, "shipped", or a folder of rule files. Nothing is put in force. Ctrl+C stops, and
    prints what was read by then.
    """
    from armrise.store.exchange.out import trial_text
    from armrise.tui.shell.intake import rules_named

    after = rules_named(new, source.rules)
    before = rules_named(against, source.rules) if against else load_rules(source.rules)
    with seen(source, as_of, before) as of:
        made = tried(of.store.as_known(of.known_at), before, after, since, of.today)
        print_as(as_json, "trial", lambda: trial_text.as_json(made), lambda: trial_text.as_text(made))


def tried(store: Store, old: Rules, new: Rules, since: date | None, until: date) -> Trial:
    """Run the trial to its end, or to Ctrl+C: then what was read so far, said to be partial."""
    from armrise.store.caseload import trial

    made: Trial | None = None
    with progress_bar("Case-days read") as tell:
        try:
            for so_far, read, total in trial.run(store, old, new, since=since, until=until):
                made = so_far
                tell(read, total)
        except KeyboardInterrupt:
            if made is None:
                raise
    assert made is not None, "the first thing a run gives is the trial before its first case"
    return made
