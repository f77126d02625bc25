"""The wordings of a standing: on the screens and in plain text, side by side, for every case."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from armrise.store.clinic.advice.sheet import sheet
from armrise.store.clinic.case.standing import Standing
from armrise.store.clinic.case.view import View
from armrise.store.exchange.out import plain_text
from armrise.store.exchange.out.for_record import for_record
from armrise.tui.case.account import with_entries
from armrise.tui.case.page import Told, laid_page
from armrise.tui.case.patient import on_screen
from armrise.tui.case.reading import read
from armrise.tui.case.table import missing_first
from armrise.tui.forms.kit import effect
from armrise.tui.forms.visit import review_plan
from armrise.tui.pages.sweep_words import case_pieces
from armrise.tui.widgets.pane import compact, sections
from armrise.tui.widgets.pieces import Piece, laid
from armrise.tui.words import standing as words
from tests.golden.demo import TODAY, Demo

WIDTH = 76
LEGEND = """\
The words of a standing, for each case of the demonstration.
  screen   store/clinic/standing/words.py, on the panes and in plain text
  column   tui/words/standing.py, in the list; "short" in a narrow one
  plain    store/exchange/out/plain_text.py, printed by the command line
  effect   tui/forms/kit/effect.py verdict_words, what a form would change
  review   tui/forms/visit/review_plan.py verdict_words, at the end of a review
"""


def standing_files(demo: Demo) -> dict[str, str]:
    """The wordings side by side, and the whole screens of a case as text."""
    sweep = demo.door.sweep()
    return {
        "standings.txt": LEGEND + "".join(_side_by_side(s) for s in demo.standings),
        "screen-case.txt": "".join(_case_screen(s, demo) for s in demo.standings),
        "screen-sweep.txt": "".join(
            _part(
                case.standing.code,
                [words.overdue_words(case.standing.review), *_lines(case_pieces(sweep, case, "")[1:])],
            )
            for case in sweep.remaining
        ),
        "screen-patient.txt": "".join(_patient(s, demo) for s in demo.standings),
    }


def _part(code: str, lines: Iterable[str]) -> str:
    return "\n".join([f"##### {code}", *lines, "", ""])


def _lines(pieces: Iterable[Piece]) -> list[str]:
    """Pieces as they stand on the screen."""
    return ["".join(span.text for span in line).rstrip() for line in laid(pieces, WIDTH)]


def _side_by_side(s: Standing) -> str:
    return _part(s.code, (f"{where:<7} {what:<10} {said}".rstrip() for what, where, said in _wordings(s)))


def _wordings(s: Standing) -> Iterator[tuple[str, str, str]]:
    """What is said, where, and the words."""
    yield "stage", "screen", words.stage(s)
    yield "days", "screen", words.days_in_stage(s)
    yield "days", "short", words.days_shortly(s)
    yield "case", "plain", " / ".join(plain_text.case_lines(s))
    yield "pain", "screen", words.spoken_scores(s.pain)
    yield "pain", "short", words.triple(s.pain)
    yield "pain", "plain", plain_text.pain_words(s)
    yield "pain age", "screen", words.ago(s.pain.days_ago)
    yield "trend", "screen", words.trend(s.trend, 14)
    yield "review", "screen", words.review_words(s)
    yield "review", "column", words.review_column(s)
    yield "review", "short", words.review_shortly(s)
    yield "review", "plain", plain_text.review_words(s)
    yield "booked", "screen", words.booked(s)
    yield "verdict", "screen", words.verdict_short(s)
    yield "verdict", "effect", effect.verdict_words(s)
    yield "verdict", "review", " / ".join(review_plan.verdict_words(s))
    yield "why", "screen", words.why(s)
    for reason in s.reasons:
        yield f"{reason.code}", "screen", words.reason_line(reason, s.as_of)
    yield "tier", "screen", words.TIER_HEADS[s.tier]


def _case_screen(s: Standing, demo: Demo) -> str:
    """The pane beside the list, its parts, the page of the case, every row of its table opened, its copy."""
    parts = [f"[{title}] {piece.text}" for title, pieces in sections(s) for piece in pieces]
    reading = read(demo.door, s.code)
    page = laid_page(Told(s, words.do_line(s), "", demo.rules.sign_off, reading), WIDTH).lines
    told = ["".join(span.text for span in line).rstrip() for line in page]
    opened = [piece for result in missing_first(s) for piece in with_entries(result, s, reading)]
    copied = for_record(View.of(demo.door.record(s.code), demo.rules, TODAY), s)
    blocks = (_lines(compact(s)), parts, told, _lines(opened), copied)
    return _part(s.code, [line for block in blocks for line in (*block, "--")])


def _patient(s: Standing, demo: Demo) -> str:
    found = sheet(View.of(demo.door.record(s.code), demo.rules, TODAY))
    return _part(s.code, _lines(on_screen(found, s.code)))
