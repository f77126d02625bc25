"""Whom a letter is for, by kind: no name is kept, it is added by hand."""

from __future__ import annotations

import re

from armrise.store.clinic.case.view import View, newest
from armrise.store.clinic.time.slots import brought_by_others
from armrise.store.record.kinds.paperwork import Referral

KINDS = (
    (("surg", "orthop", "operat"), "the surgeon"),
    (("general", "gp", "family"), "the GP"),
    (("emergency", "casualty"), "the emergency department"),
    (("fracture",), "the fracture clinic"),
    (("imag", "radio", "x-ray", "scan"), "the imaging department"),
    (("rheum",), "the rheumatologist"),
    (("cancer", "two-week"), "the cancer clinic"),
)
"""What a referrer, or who a case was referred to, is called, by what its words begin with."""
WHOLE = 4
"""Letters below which only the whole word counts."""
ANYBODY = "the referrer"
HIMSELF = ("self", "patient")
OWN_DOCTOR = "the GP"
"""Whom a letter is for where the patient came without being sent."""


def kind_of(words: str) -> str:
    """The kind behind words that may be a role, a place or a name; none is taken over as it was typed."""
    said = re.findall(r"[a-z-]+", words.casefold())
    return next((kind for begins, kind in KINDS if any(_names(said, begin) for begin in begins)), "")


def _names(said: list[str], begin: str) -> bool:
    """Whether a word of ``said`` begins so; a short one has to be the whole word: "gp" begins no other."""
    return begin in said if len(begin) < WHOLE else any(word.startswith(begin) for word in said)


def latest_referral(view: View) -> Referral | None:
    """The newest referral on of the episode."""
    return newest(view.since("referrals", view.episode_start))


def reader(view: View, about: str) -> str:
    """Whom a letter about this matter is for."""
    if about == "missed visits":
        return "the parent or carer" if brought_by_others(view) else "the patient"
    if about == "referral":
        referral = latest_referral(view)
        return (kind_of(referral.to) if referral else "") or "the clinic referred to"
    return _referrer(view)


def copy_to(view: View, about: str) -> str:
    """Who gets a copy, empty where nobody sent the patient or is to know (practice note 1.5)."""
    came_alone = view.record.referrer.casefold().strip() in HIMSELF and _referrer(view) == OWN_DOCTOR
    return _referrer(view) if about in ("missed visits", "referral") and not came_alone else ""


def sender(view: View) -> str:
    """Who sent the patient, as the first line has it."""
    sent = view.record.referrer
    if not sent:
        return "referrer not recorded"
    if sent.casefold().strip() in HIMSELF:
        return "self-referred"
    return f"from {kind_of(sent) or ANYBODY}"


def _referrer(view: View) -> str:
    """Who sent the patient; after an operation the surgeon, whose orders hold."""
    if any(onset.what == "surgery" for onset in view.since("onsets", view.episode_start)):
        return "the surgeon"
    sent = view.record.referrer
    if sent.casefold().strip() in HIMSELF:
        return OWN_DOCTOR
    return kind_of(sent) or ANYBODY
