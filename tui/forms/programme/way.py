"""How an arm goes through an exercise, typed in short: who lifts, the seconds of each part, the arc."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from textual.widget import Widget

from armrise.store.record.fields import Whole, rule_of
from armrise.store.record.kinds.programme import ProgrammeItem
from armrise.tui.forms.kit.asked import Ask, field_for
from armrise.tui.forms.kit.line import Line

SECONDS = re.compile(r"(\d{1,3}|\.)-(\d{1,3}|\.)-(\d{1,3}|\.)(?:/(\d{1,3}))?")
ARC = re.compile(r"(?:(-?\d{1,3})\s*(?:-|to)\s*)?(-?\d{1,3})")
OF_SECONDS = ("lift_s", "pause_s", "lower_s", "lower_s_high")
OF_ARC = ("arc_from", "arc_to")


def way_rows(today: date) -> Iterable[Widget]:
    """The three fields."""
    ask = Ask("assist", "who lifts", without=("",), blank="not told", beside="both ways: by itself")
    yield field_for(ask, ProgrammeItem, today)
    yield Line("seconds, up-hold-down", key="seconds", longest=15, beside="as 1-1-3 or .-.-3/4")
    yield Line("arc, degrees", key="arc", longest=9, beside="from-to, as 0-70")


def way_texts(values: Mapping[str, Any]) -> dict[str, str]:
    """What stands in the two lines for an item as it is; nothing where nothing is set."""
    *parts, high = (values.get(name) for name in OF_SECONDS)
    seconds = "-".join("." if part is None else str(part) for part in parts)
    low, end = (values.get(name) for name in OF_ARC)
    arc = "" if end is None else f"{end}" if low is None else f"{low}-{end}"
    return {
        "seconds": "" if seconds == ".-.-." else seconds + (f"/{high}" if high is not None else ""),
        "arc": arc,
    }


def seconds_of(text: str, faults: dict[str, str]) -> dict[str, int | None]:
    """Seconds typed as up-hold-down, "." where a part is not told, "/" before the longer of two."""
    match = SECONDS.fullmatch(text)
    told = [int(part) if part and part != "." else None for part in match.groups()] if match else [None] * 4
    rule: Whole = rule_of(ProgrammeItem, "lower_s")
    low, high = told[2:]
    wrong = text and (
        match is None
        or any(part is not None and not rule.low <= part <= rule.high for part in told)
        or (high is not None and (low is None or high < low))
    )
    if wrong:
        allowed = f"up-hold-down, each {rule.low} to {rule.high}, as 1-1-3 or .-.-3/4"
        faults["seconds"] = f'seconds: "{text}" is not {allowed}.'
    return dict(zip(OF_SECONDS, told, strict=True))


def arc_of(text: str, faults: dict[str, str]) -> dict[str, int | None]:
    """An arc typed as "0-70", or as its end alone."""
    match = ARC.fullmatch(text)
    low, high = (int(end) if end else None for end in match.groups()) if match else (None, None)
    rule: Whole = rule_of(ProgrammeItem, "arc_to")
    inside = all(end is None or rule.low <= end <= rule.high for end in (low, high))
    upward = low is None or high is None or low < high
    if text and not (match and inside and upward):
        allowed = f"from-to between {rule.low} and {rule.high}, as 0-70"
        faults["arc"] = f'arc: "{text}" is no arc; allowed is {allowed}.'
    return {"arc_from": low, "arc_to": high}
