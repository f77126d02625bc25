"""What the first run says and refuses: cautions, the clinic's zone, the initials, what will be made."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import available_timezones

from armrise.store.record.words import PROMPT
from armrise.tui.shell.opening import LONGEST_AUTHOR, local_zone
from armrise.tui.words import standing as words

if TYPE_CHECKING:
    from armrise.store.database.server.address import Where

CAUTIONS = (
    words.CAUTION,
    "Local codes of practice, your licence and the surgeon's orders prevail over every rule here.",
    PROMPT,
    "The rules are NOT SIGNED OFF until a clinical lead has read them and put a name to them.",
    "Cases carry codes: no names, no birthdays. Without a passphrase the file is not encrypted.",
)
_OF_A_FILE = (
    "Readable by your account on this machine, and by whoever administers it. Not encrypted.",
    "No network is used. Leaving copies it beside itself; a second place is your duty (armrise backup).",
)
_OF_AN_ENCRYPTED_FILE = (
    "Encrypted: a lost passphrase is not replaced by anybody, and the file then opens for nobody.",
    _OF_A_FILE[1],
)
_OF_A_SERVER = (
    "Readable by whoever the server lets in, and by whoever administers it. Not encrypted by armrise.",
    "Backups are the duty of whoever runs the server; the address says how the line is protected.",
)
NEAR = 3
NAME_FROM = 5
"""From so many letters in a row initials look like a name."""


def proposed_zone() -> tuple[str, str]:
    """The zone proposed for the clinic, and the line that says where it comes from."""
    zone = local_zone()
    if zone == "UTC" or zone.startswith("Etc/"):
        return "", "This machine names no place: type the clinic's region and town, such as Europe/London."
    return zone, "The zone is the one this machine is set to: is it the clinic's?"


def zone_fault(typed: str) -> str:
    """Why this is no zone, with the nearest names; empty when it is one."""
    from armrise.store.record.clock import UnknownZone, clinic_zone

    if not typed:
        return "zone: type the clinic's region and town, such as Europe/London."
    try:
        clinic_zone(typed)
    except UnknownZone:
        near = near_zones(typed)
        told = f"near it: {', '.join(near)}" if near else "allowed is a region and town such as Europe/London"
        return f'zone: "{typed}" is not known; {told}.'
    return ""


def near_zones(typed: str) -> list[str]:
    """Known zones whose town or whole name is nearest to what was typed."""
    from armrise.store.record.clock import REGION

    known = sorted(zone for zone in available_timezones() if REGION.fullmatch(zone))
    towns: dict[str, list[str]] = {}
    for zone in known:
        for name in (zone, zone.rpartition("/")[2]):
            towns.setdefault(name.casefold(), []).append(zone)
    wanted = typed.casefold().replace(" ", "_")
    found = [zone for name in get_close_matches(wanted, towns, n=NEAR, cutoff=0.7) for zone in towns[name]]
    return list(dict.fromkeys(found))[:NEAR]


def initials_fault(typed: str) -> str:
    """Why these are no initials; empty when they are."""
    if not typed:
        return f"initials: type 1 to {LONGEST_AUTHOR} characters, they stand beside every entry."
    if len(typed) > LONGEST_AUTHOR:
        return f"initials: at most {LONGEST_AUTHOR} characters, {len(typed)} typed."
    return "" if typed.isprintable() else "initials: letters and digits only."


def initials_warning(typed: str) -> str:
    """A warning when the initials look like a name; never a refusal."""
    if any(len(part) >= NAME_FROM and part.isalpha() for part in typed.split()) or " " in typed:
        return "this looks like a name: initials are enough."
    return ""


def passphrase_fault(typed: str, again: str) -> str:
    """Why this passphrase is not taken; empty when it is, or when none is wanted."""
    from armrise.store.database.encrypted.keys import passphrase_fault as fault

    return fault(typed, again) if typed or again else ""


def will_make(path: Where, zone: str, initials: str, *, encrypted: bool = False) -> list[str]:
    """What will be written, where, who may read it, and whose duty the backups are."""
    kept = "in that file" if isinstance(path, Path) else "there"
    return [
        f"Will make: an empty caseload that counts its days in {zone or '(zone not typed)'}",
        f"           {path}",
        f"           entries written by {initials or '(initials not typed)'}, remembered {kept}",
        *(_OF_A_SERVER if not isinstance(path, Path) else _OF_AN_ENCRYPTED_FILE if encrypted else _OF_A_FILE),
        "The rules stay NOT SIGNED OFF until your clinical lead signs them.",
    ]
