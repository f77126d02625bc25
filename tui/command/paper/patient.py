"""What a patient is given on paper, and the file of words it is said in."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from armrise.tui.command.options import Command
from armrise.tui.command.printing import say
from armrise.tui.command.reading import CLINIC_DATE, FILE, RULES_HELP, AsOf, seen, sources
from armrise.tui.command.typed.codes import CODE, meant
from armrise.tui.command.typed.paper import OnPaper, on_paper
from armrise.tui.command.typed.quiet import quiet
from armrise.tui.command.typed.writing import FORCE_HELP
from armrise.tui.shell.intake import Source, load_rules
from armrise.tui.shell.wordsfile import in_words_of, words_path

WORDS_HELP = "A file of patient words (see armrise words), instead of the clinic's own or the English."
FROM_HELP = "The first day of the diary, instead of the sheet's own."
CHECK_HELP = "Check a file instead of printing one; nothing is changed."


@click.command(cls=Command)
@click.argument("code", type=CODE)
@click.option("--large", is_flag=True, help="In large print.")
@click.option("--from", "start", type=CLINIC_DATE, metavar="DATE", help=FROM_HELP)
@click.option("--words", type=FILE, metavar="FILE", help=WORDS_HELP)
@on_paper
@click.option("--force", is_flag=True, help=FORCE_HELP)
@quiet
@sources
def sheet(
    source: Source,
    code: str,
    large: bool,
    start: date | None,
    words: Path | None,
    paper: OnPaper,
    force: bool,
    as_of: AsOf,
) -> None:
    """Print the patient's sheet of the case CODE: limits, exercises, whom to ring, a diary to fill in.

    It carries the code and no name. The diary that comes back is typed in one line, box by box
    (armrise strip).
    """
    rules = load_rules(source.rules)
    with seen(source, as_of, in_words_of(rules, words) if words else rules) as of:
        from armrise.store.caseload import read as caseload
        from armrise.store.clinic.case.view import View
        from armrise.store.exchange.paper.patient import patient_page

        found = meant(of.store, code)
        view = View.of(caseload.case(of.store, found, known_at=of.known_at), of.rules, of.today)
        page = patient_page(view, start=start, large=large, fictional=of.store.fictional)
    if page is None:
        say(f"There is no sheet of {found}: nothing is to be said to its patient.")
    elif paper.file is not None:
        paper.put(page, force=force)
    else:
        from armrise.store.exchange.paper.text import as_text

        say(as_text(page), nl=False)


@click.command(cls=Command)
@click.option("--check", type=FILE, metavar="FILE", help=CHECK_HELP)
@click.option("--rules", type=FILE, metavar="FOLDER", help=RULES_HELP)
@quiet
def words(check: Path | None, rules: Path | None) -> None:
    """Print everything said to a patient as a file, ready to be written in another language.

    A file that is whole is used by --words, and everywhere once it lies where --check says. With one line of
    its own a clinic says whom to ring.
    """
    under = load_rules(rules)
    if check is None:
        from armrise.store.rules.words.as_file import as_file

        say(as_file(under), nl=False)
        return
    spoken = in_words_of(under, check).words
    named = sum(exercise.name in spoken.exercises for exercise in under.exercises)
    say(f"{check.name} is whole, in the language {spoken.language}.")
    if not spoken.is_english:
        say(f"It names {named} of {len(under.exercises)} exercises; the others are printed as recorded.")
    say(f"To have everything said in it, put it at {words_path()}")
