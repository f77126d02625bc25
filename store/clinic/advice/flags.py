"""What a patient with a possible red flag is to do, the most urgent first (ruling 85)."""

from __future__ import annotations

from armrise.store.clinic.case.view import View
from armrise.store.clinic.verdict.screening import open_flags
from armrise.store.record.kinds.safety import RETIRED_SCREEN_ITEMS
from armrise.store.rules.pathway import Rules
from armrise.store.rules.red_flag import ScreenItem


def flag_lines(view: View) -> list[str]:
    """The lead and words of each open item, by how soon it has to be seen; its further leads below it.

    An item of earlier screens is told by its parts: what was asked under its name may have been any of them.
    """
    rules = view.rules
    names = [part for f in open_flags(view) for part in RETIRED_SCREEN_ITEMS.get(f.item, (f.item,))]
    items = [rules.screen_items[name] for name in dict.fromkeys(names)]
    order = [lead.name for lead in rules.leads]
    items.sort(key=lambda item: order.index(item.lead) if item.lead else len(order))
    return list(dict.fromkeys(line for item in items for line in _lines(rules, item)))


def _lines(rules: Rules, item: ScreenItem) -> list[str]:
    words = {lead.name: lead.words for lead in rules.leads}
    first = [_said(words[item.lead], item.words or "")] if item.lead else []
    return [*first, *(_said(words[further.lead], further.words) for further in item.also)]


def _said(lead: str, words: str) -> str:
    """The lead, then words of their own; or words that go on from it: "Go to hospital today if ..."."""
    if not words or not words[0].islower():
        return f"{lead} {words}".rstrip()
    stem = lead.removesuffix(".")
    first, _, rest = words.partition(" ")
    goes_on = rest if stem.endswith(f" {first}") else words
    return f"{stem} {goes_on}."
