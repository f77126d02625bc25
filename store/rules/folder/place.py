"""Where rule files lie, and which they are: said before anything reads them as rules, so this stays light."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from armrise.store.record.bounded import MB, read_bounded
from armrise.store.record.digests import sha256

COMMON = "rules.toml"
LARGEST = 4 * MB
"""Bytes of a rule file; those shipped have a tenth of a megabyte at most."""
SHIPPED = Path(__file__).parents[1] / "pathways"
EARLIER = SHIPPED.with_name("upgrade") / "earlier"
"""The rule files of every earlier shipped version, a folder each."""
ADOPTED = "adopted.txt"
SHIPPED_WORD = "shipped"
"""How the rules that came with the program are called where a version is asked for."""


def default_folder() -> Path:
    """The clinic's own folder of rules, in the user's configuration folder."""
    import platformdirs

    return Path(platformdirs.user_config_dir("armrise", appauthor=False)) / "rules"


def earlier_versions() -> tuple[str, ...]:
    """The shipped versions before the present one, oldest first."""
    return tuple(sorted((path.name for path in EARLIER.iterdir() if path.is_dir()), key=int))


def digest_in_force(folder: Path) -> str:
    """A digest of all that the rules in force are read from; empty where that cannot be told.

    That are the files of the clinic's own ``folder`` and what put them in force, or those of the program.
    Rules of an earlier version are completed from other files of the program: whoever keeps what follows from
    rules keeps a digest of the program beside this one.
    """
    try:
        if (folder / COMMON).exists():
            return _digest([], folder)
        if not (folder / ADOPTED).exists():
            return _digest([], SHIPPED)
        last = read_bounded(folder / ADOPTED, LARGEST).splitlines()[-1]
        version = last.split()[1].decode()
        return _digest([last], SHIPPED if version == SHIPPED_WORD else folder / version)
    except (OSError, LookupError, UnicodeDecodeError):
        return ""


def _digest(more: Iterable[bytes], folder: Path) -> str:
    made = sha256(b"".join(more))
    for path in sorted(folder.glob("*.toml")):
        raw = read_bounded(path, LARGEST)
        made.update(f"{path.name}\0{len(raw)}\0".encode())
        made.update(raw)
    return made.hexdigest()
