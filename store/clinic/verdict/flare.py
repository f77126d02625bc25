"""What a flare that does not settle does to the verdict: load back first, then a step back (ruling 78)."""

from __future__ import annotations

from armrise.store.clinic.case.view import View
from armrise.store.clinic.pain.flare import FlareState
from armrise.store.clinic.programme.load_back import load_back


def step_back_for_flare(view: View) -> str:
    """Why a flare advises a step back, in words; empty where it does not.

    In the first stage there is none. While load can be taken back that comes first; what flares again after
    it was taken back asks for the stage before.
    """
    asked = None if view.first_stage else load_back(view)
    if asked is None or asked.doses:
        return ""
    return "flare goes on after the load was cut" if asked.goes_on else "flare not settling"


def flare_lines(view: View, flare: FlareState) -> list[tuple[str, str]]:
    """(line, observed) of a flare that forbids READY, the load to take back before the flare itself."""
    if view.first_stage and flare.session_causes:
        return [("reduce load (no earlier stage)", flare.sentence)]
    asked = load_back(view) if flare.session_causes else None
    first = [("load back first", ", ".join(asked.doses))] if asked and asked.doses else []
    return [*first, ("pain not settling", flare.sentence)]
