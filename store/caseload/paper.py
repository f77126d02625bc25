"""The head of a store's chain as it goes on paper: whoever keeps it can tell a store that was made anew."""

from __future__ import annotations

from armrise.store.database.chain import head_of, head_words
from armrise.store.database.place import Store


def head_on_paper(store: Store) -> str:
    """The head with its action and instant on the clinic's clock; empty for a store that is thrown away."""
    if not store.lasting:
        return ""
    with store.reading() as connection:
        head = head_of(connection)
    return head_words(head, store.local(head.at)) if head else ""
