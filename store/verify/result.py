"""What a verification found: what is right, what is wrong, what it cannot know."""

from __future__ import annotations

from datetime import datetime, tzinfo

from armrise.store.database.chain import Link
from armrise.store.record.light import dataclass

THROWAWAY = (
    "what was written since this store was made: it is thrown away when armrise is left, and has no chain"
)
NOT_CHECKED = (
    "that nobody who has the file and this program made the whole chain anew: compare the head with one on "
    "paper, armrise verify --expect HEAD",
    "that what was typed was true",
    "what is on the desk and no record: drafts, marks, views, when a case was last looked at",
)
"""Said with every result, also the best."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken:
    """The first action that does not follow: what stands there is not what was written."""

    number: int
    at: datetime
    """When its link was made, on the clinic's clock."""
    codes: tuple[str, ...]
    """Cases with entries in what it covers now."""
    kinds: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """A store looked at as a whole. Instants are on the clinic's clock."""

    name: str
    at: datetime
    zone: tzinfo
    right: tuple[str, ...] = ()
    """What was checked and is right, in words."""
    faults: tuple[str, ...] = ()
    """What is wrong, in words that quote nothing recorded."""
    cases: int = 0
    entries: int = 0
    actions: int = 0
    """The links of the chain, its beginning included."""
    begun: Link | None = None
    head: Link | None = None
    first_broken: Broken | None = None
    expected: str = ""
    """The head that was asked for; empty when none was."""
    occurs: Link | None = None
    """The link with that head."""
    not_checked: tuple[str, ...] = NOT_CHECKED

    @property
    def sound(self) -> bool:
        """True when nothing wrong was found."""
        return not self.faults
