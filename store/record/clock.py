"""The time zone of a clinic, by the name of its region."""

from __future__ import annotations

import re
from zoneinfo import ZoneInfo

REGION = re.compile(r"UTC|[A-Z][A-Za-z]+(/[A-Za-z0-9_+-]+)+")
"""A region and a place, never a name that means what this machine is set to ("localtime") or no place."""


class UnknownZone(ValueError):
    """A name that is no zone. The message is one sentence."""


def clinic_zone(name: str) -> ZoneInfo:
    """The zone of a region's name, never "this machine's". Raises :class:`UnknownZone` for any other name."""
    try:
        if REGION.fullmatch(name):
            return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        pass
    raise UnknownZone(f'time zone "{name}" is not known: use a name such as Europe/London')
