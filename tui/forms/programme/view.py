"""The home programme in words: each item with its dose and, under it, what is proposed and why. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from armrise.store.clinic.case.view import View
from armrise.store.clinic.healing.fit import Fit
from armrise.store.clinic.healing.healing import allowed_on
from armrise.store.clinic.programme.parts import Dose, target_range
from armrise.store.clinic.programme.proposal import HOLD, Proposal
from armrise.store.record.kinds.programme import CLASS_WORDS, ISOMETRIC, ProgrammeItem, way
from armrise.tui.forms.kit.cursorlist import Block
from armrise.tui.widgets.pieces import BLANK, Piece
from armrise.tui.words.entries import ago, day

FREE = "another exercise"
"""The last line of the catalogue: an exercise typed by name and load class."""


def item_block(found: Proposal, today: date) -> Block:
    """One item: what it is, its dose, who set it, and the proposal with its reason."""
    item = found.item
    reason = found.reason + (f"; {found.condition}" if found.condition not in found.reason else "")
    if found.not_before:
        reason += f"; not before {day(found.not_before, year=False)}"
    style = "" if found.word == HOLD else "strong"
    pieces = (
        Piece(f"{item.exercise}: {class_words(item)}", "strong"),
        Piece(dose_line(item), indent=4),
        Piece(since_line(found, today), "muted", indent=4),
        Piece(found.line, style, indent=4),
        Piece(reason, indent=6),
        BLANK,
    )
    return Block(pieces, item.exercise)


def class_words(item: ProgrammeItem) -> str:
    """The load class in words, and what is special about the movement."""
    said = [CLASS_WORDS[item.load_class]]
    said += ["elbow above the shoulder"] if item.above_shoulder else []
    said += ["abduction with external rotation"] if item.combined else []
    said += [f"{item.sides} sides" if item.sides == "both" else "affected side"] if item.sides else []
    return ", ".join(said)


def dose_line(item: ProgrammeItem) -> str:
    """The dose with everything that belongs to it; what nobody set is left out, the range is not."""
    spread = target_range(item)
    said = [Dose.of(item).words(item)]
    said.append(f"range {spread[0]}-{spread[1]}" if spread else "no range set")
    if item.hold is not None and item.load_class not in ISOMETRIC:
        said.append(f"hold {item.hold} s")
    said += [words for words in (way(item),) if words]
    said += [f"tempo {item.tempo}"] if item.tempo else []
    said += [times(item.per_week)] if item.per_week else []
    said += [f"effort {item.effort} of 10"] if item.effort is not None else []
    said += [f"rest {item.rest} s"] if item.rest is not None else []
    said += ["patient may raise repetitions"] if item.self_progress else []
    return ", ".join(said)


def times(per_week: int) -> str:
    """How often, as people say it: twice a day, once a day, or times a week."""
    if per_week % 7:
        return ("", "once a week", "twice a week")[per_week] if per_week < 3 else f"{per_week} times a week"
    daily = per_week // 7
    return ("", "once a day", "twice a day")[daily] if daily < 3 else f"{daily} times a day"


def since_line(found: Proposal, today: date) -> str:
    """Who set the dose and when, and when the load last rose."""
    item, rose = found.item, found.last_load_increase
    by = f"set by {item.author}" if item.author else "set"
    load = f"load last raised {day(rose, year=False)}" if rose else "load never raised"
    return f"{by} {day(item.on, year=False)}, {ago(item.on, today)}; {load}"


def bare_block(item: ProgrammeItem) -> Block:
    """An item for which nothing is proposed: the case is closed."""
    return Block((Piece(f"{item.exercise}: {class_words(item)}", "strong"), Piece(dose_line(item), indent=4)))


def allowed_words(view: View) -> str:
    """What may be done today where tissue heals; empty where no healing limit holds."""
    allowed = allowed_on(view, view.today)
    if allowed is None:
        return ""
    return f"allowed today: {', '.join(CLASS_WORDS[c] for c in allowed) or 'protection'}"


def nothing_yet(view: View, found: Sequence[Fit]) -> Block:
    """What an empty programme says: the next step, and what there is to add."""
    fitting = [f.exercise.name for f in found if f.fits]
    names = ", ".join(fitting[:4]) + (" ..." if len(fitting) > 4 else "")
    where = f"{view.stage.code} {view.stage.name}" if view.span and view.stage else "a case not placed yet"
    told = (
        f"n adds one; {where} fits: {names}."
        if fitting
        else f"n adds one; for {where} each needs an override."
    )
    return Block((Piece("No exercise is in the home programme."), Piece(told, "muted")))


def catalogue_blocks(found: Sequence[Fit], taken: Sequence[str], where: str) -> list[Block]:
    """The catalogue: what fits first, what needs an override apart, and an exercise of one's own."""
    fitting = [f for f in found if f.fits]
    others = [f for f in found if not f.fits]
    blocks = [Block((Piece(f"fits {where} ({len(fitting)})", "head"),))]
    blocks += [_exercise(f, taken) for f in fitting]
    if others:
        apart = "needs an override: not part of this stage, or not allowed today"
        blocks.append(Block((BLANK, Piece(f"{apart} ({len(others)})", "head"))))
        blocks += [_exercise(f, taken) for f in others]
    own = Piece(f"{FREE}, by name and load class")
    return [*blocks, Block((BLANK,)), Block((own,), FREE)]


def _exercise(found: Fit, taken: Sequence[str]) -> Block:
    made = found.exercise
    seconds = " s" if made.load_class in ISOMETRIC else ""
    dose = f"{made.sets} x {made.reps}{seconds}"
    dose += f", hold {made.hold} s" if made.hold else ""
    dose += f", {times(made.per_week)}" if made.per_week else ""
    here = ", in the programme already" if made.name in taken else ""
    first = Piece(f"{made.name}: {CLASS_WORDS[made.load_class]}, {dose}{here}")
    return Block((first, *([Piece(found.why, "muted", indent=4)] if found.why else [])), made.name)
