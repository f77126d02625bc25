"""What of the list is wanted: by pathway, tier, clinician, and by a view of the list itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import wraps
from typing import TYPE_CHECKING

import click

from armrise.store.record.light import NamedTuple
from armrise.store.rules.tiers import TIERS

if TYPE_CHECKING:
    from armrise.store.clinic.case.standing import Standing
    from armrise.store.database.place import Store
    from armrise.store.rules.pathway import Rules
    from armrise.tui.command.reading import Seen


class Wanted(NamedTuple):
    """What was typed; an empty part leaves nothing out."""

    pathways: tuple[str, ...] = ()
    tiers: tuple[str, ...] = ()
    clinicians: tuple[str, ...] = ()
    view: str = ""

    @property
    def said(self) -> str:
        """In words, as they were typed."""
        named = (
            ("pathway", self.pathways),
            ("tier", self.tiers),
            ("clinician", self.clinicians),
            ("view", (self.view,) if self.view else ()),
        )
        return "; ".join(f"{name} {' or '.join(words)}" for name, words in named if words)


def filters(command: Callable[..., None]) -> Callable[..., None]:
    """The options that leave cases out of a listing."""

    @click.option("--pathway", multiple=True, metavar="CODE", help="Only this pathway; may be given again.")
    @click.option("--tier", multiple=True, metavar="TIER", help='Only this tier, such as "harm if left".')
    @click.option("--clinician", multiple=True, metavar="INITIALS", help="Only the cases of this clinician.")
    @click.option("--view", default="", metavar="VIEW", help="Only a view of the list: its name or digit.")
    @wraps(command)
    def with_filters(
        pathway: tuple[str, ...], tier: tuple[str, ...], clinician: tuple[str, ...], view: str, **rest: object
    ) -> None:
        command(wanted=Wanted(pathway, tier, clinician, view), **rest)

    return with_filters


def chosen(of: Seen, standings: Sequence[Standing], wanted: Wanted) -> list[Standing]:
    """Those of the listing that are wanted, in its order. Raises a usage fault for what there is none of."""
    pathways, tiers = _pathways(wanted, of.rules), _tiers(wanted)
    clinicians = _clinicians(wanted, standings)
    found = [
        s
        for s in standings
        if (not pathways or s.pathway in pathways)
        and (not tiers or s.tier in tiers)
        and (not clinicians or s.clinician in clinicians)
    ]
    return _in_view(of.store, found, wanted.view) if wanted.view else found


def _pathways(wanted: Wanted, rules: Rules) -> set[str]:
    return {_one_of(word, {code: code for code in rules.pathways}, "--pathway") for word in wanted.pathways}


def _tiers(wanted: Wanted) -> set[str]:
    from armrise.store.clinic.standing.words import TIER_WORDS

    names = {name: tier for tier, name in TIER_WORDS.items()} | {tier: tier for tier in TIERS}
    return {_one_of(word.replace("-", " "), names, "--tier") for word in wanted.tiers}


def _clinicians(wanted: Wanted, standings: Sequence[Standing]) -> set[str]:
    """Of initials that no case on the list carries it is said; there may be no case of theirs today."""
    names = {s.clinician: s.clinician for s in standings if s.clinician}
    return {_one_of(word, names, "--clinician") for word in wanted.clinicians}


def _one_of(word: str, names: dict[str, str], option: str) -> str:
    """What is named by a word in any case. Raises a usage fault that says what is allowed."""
    low = {name.casefold(): what for name, what in names.items()}
    if word.casefold() not in low:
        allowed = ", ".join(names) or "none: no case on the list names one"
        raise click.UsageError(f"{option} is {word!r}, allowed is {allowed}")
    return low[word.casefold()]


def _in_view(store: Store, standings: Sequence[Standing], view: str) -> list[Standing]:
    """The cases of a view, in its order; searched for in the words that the list prints."""
    from armrise.store.caseload.named_views import named_views
    from armrise.store.database.desk import marks
    from armrise.tui.shell.opening import author
    from armrise.tui.widgets.listing import Listing
    from armrise.tui.widgets.views import numbered

    views = numbered(named_views(store))
    key = view if view in views else _one_of(view, {v.name: key for key, v in views.items()}, "--view")
    listing = Listing()
    listing.sort(standings)
    listing.marked = set(marks(store, author(store.fictional, "", store.author)))
    listing.view = views[key]
    cases = {s.code: s for s in standings}
    return [cases[code] for code in listing.found()]
