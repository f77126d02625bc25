"""A fault nobody foresaw: one sentence for whoever sits there, and a note without a word about a case."""

from __future__ import annotations

import traceback
from pathlib import Path

FILE_NAME = "faults.log"


def log_path() -> Path:
    """Where faults are noted: the user's folder for logs."""
    import platformdirs

    return Path(platformdirs.user_log_dir("armrise", appauthor=False)) / FILE_NAME


def kind_and_place(error: BaseException | None) -> str:
    """What may be said of a fault nobody foresaw: its text may quote a patient's record, this does not."""
    kinds, places = kinds_of(error), places_of(error)
    return f"{kinds[-1]} in {places[-1]}" if places else kinds[-1]


def in_a_sentence(error: Exception) -> str:
    """What a store, a rule file, a caseload file or the system refuses; else the kind of the fault."""
    if isinstance(error, OSError):
        said = error.strerror or str(error)
        return f"{said} ({error.filename})." if error.filename else f"{said}."
    if type(error).__module__.startswith("armrise.store."):
        return str(error)
    return f"A fault nobody foresaw ({kind_and_place(error)})."


def told(error: BaseException | None) -> str:
    """Note the fault and say so. Neither holds the text of the error, which may quote a patient's record."""
    kinds, places = kinds_of(error), places_of(error)
    said = (
        f"armrise stopped: a fault nobody foresaw ({kind_and_place(error)}). What was written is in the "
        "store; a form that was being typed in is offered again when it is opened."
    )
    noted = note(kinds, places)
    return f"{said} Noted, without a word about any case, in {noted}." if noted else said


def kinds_of(error: BaseException | None) -> list[str]:
    """The kinds of the error and of what it was raised from, the first cause last."""
    kinds: list[str] = []
    while error is not None and len(kinds) < 10:
        kinds.append(type(error).__name__)
        error = cause(error)
    return kinds or ["no error given"]


def places_of(error: BaseException | None) -> list[str]:
    """File, line and function of every call on the way to the first cause; no values."""
    places: list[str] = []
    while error is not None and len(places) < 200:
        for frame, line in traceback.walk_tb(error.__traceback__):
            code = frame.f_code
            places.append(f"{'/'.join(Path(code.co_filename).parts[-2:])} line {line} {code.co_name}")
        error = cause(error)
    return places


def cause(error: BaseException) -> BaseException | None:
    """What the error came from; a worker's error holds the one of its work."""
    held = getattr(error, "error", None)
    return held if isinstance(held, BaseException) else error.__cause__


def note(kinds: list[str], places: list[str]) -> Path | None:
    """Add the fault to the log, readable by its owner only; None when it cannot be written."""
    from armrise.store.files.whole import add_private
    from armrise.store.record.clock import utc_now

    path = log_path()
    lines = [f"{utc_now().isoformat(timespec='seconds')} {' from '.join(kinds)}", *places]
    try:
        add_private(path, "\n    ".join(lines) + "\n")
    except OSError:
        return None
    return path
