"""The fields of entries in words, wherever one is shown, asked for or found wrong."""

from __future__ import annotations

import re

LABELS = {
    "on": "happened on",
    "history": "before this episode",
    "source": "where it comes from",
    "load_class": "kind of exercise",
    "per_week": "sessions a week",
    "reps": "repetitions",
    "reps_low": "repetitions, lowest",
    "reps_high": "repetitions, highest",
    "reps_asked": "repetitions asked",
    "hold": "hold, seconds",
    "rest": "rest, seconds",
    "load": "load, kg",
    "lifting_limit": "lifting limit, kg",
    "interval": "next review in days",
    "until": "until",
    "to": "referred to",
    "combined": "abduction + ext. rotation",
    "later": "pain later that day",
    "during": "pain during",
    "morning": "pain next morning",
    "pain": "morning pain",
    "ordinal": "session of the day",
    "text": "further words",
    "body": "text of the letter",
    "by": "given by",
    "name": "what",
    "named": "surgeon or lead who agreed",
    "total": "total",
    "items": "items",
    "times": "times that day",
    "dose": "how much of the dose",
    "written": "from a written diary",
    "mornings_worse": "mornings worse than usual",
    "settled": "settled now",
    "sets_high": "sets, highest",
    "assist": "the other arm",
    "lift_s": "lift, seconds",
    "pause_s": "pause, seconds",
    "lower_s": "lower, seconds",
    "lower_s_high": "lower, seconds, longest",
}
"""Words for the fields whose name alone says too little."""


def label_of(name: str) -> str:
    """A field in words."""
    return LABELS.get(name) or re.sub(r"^stage(?=\d)", "stage ", name.replace("_", " "))
