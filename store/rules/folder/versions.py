"""Where the rules come from: shipped with the program, or the clinic's own folder of versions.

The clinic's own folder holds a folder a version, named by its number, and ``adopted.txt``: one line for each
time a version was put in force, the last one in force now. Nothing in it is ever taken away, so that a day
long ago can be read under the rules of that day. A folder that does not hold together is refused and never
replaced by the shipped rules behind the clinician's back.
"""

from __future__ import annotations

import shutil
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from tempfile import mkdtemp

from armrise.store.files.whole import sync_folder, write_whole
from armrise.store.record.clock import on_the_clock
from armrise.store.record.light import dataclass
from armrise.store.rules.folder import signature as rulesign
from armrise.store.rules.folder.place import ADOPTED, SHIPPED, SHIPPED_WORD, default_folder, digest_in_force
from armrise.store.rules.pathway import Rules
from armrise.store.rules.read import COMPLETED, faults, load
from armrise.store.rules.table import RuleFileError, shown

CHANGED = "changed since adopted"
_ABOUT = (
    "# When each version of the rules was put in force: the instant, the version, the digest of its files.\n"
    "# The last line is in force. To put a version in force: armrise rules adopt VERSION\n"
)


@dataclass(frozen=True, slots=True)
class Adoption:
    """A version put in force: when, which, and the digest of its files then."""

    at: datetime
    version: str
    digest: str


def chosen(named: Path | None) -> OwnRules:
    """The clinic's own rules: in the folder ``named``, else in the usual place."""
    return OwnRules(named or default_folder(), named is not None)


def load_in_force(named: Path | None = None) -> Rules:
    """The rules in force. ``named`` is one version, or a folder of versions; without it the usual place.

    Raises :class:`RuleFileError`, one sentence, for a folder that does not hold together.
    """
    own = chosen(named)
    digest = digest_in_force(own.folder)
    if named is not None and (named / rulesign.COMMON).exists():
        found = replace(load(named), origin=f"the folder {named}")
    else:
        found = own.load_in_force()
    # files that were changed while they were read are not known by what they say now
    return found.known_as(digest if digest_in_force(own.folder) == digest else "")


@dataclass(frozen=True, slots=True)
class OwnRules:
    """The clinic's own folder of versions. ``named`` when somebody asked for this very folder."""

    folder: Path
    named: bool = False

    def versions(self) -> tuple[str, ...]:
        """The versions that lie in the folder, lowest first."""
        if not self.folder.is_dir():
            return ()
        names = [path.name for path in self.folder.iterdir() if path.is_dir() and _is_number(path.name)]
        return tuple(sorted(names, key=int))

    def adoptions(self) -> tuple[Adoption, ...]:
        """Every time a version was put in force, oldest first; none before the first copy."""
        path = self.folder / ADOPTED
        try:
            text = path.read_text(encoding="utf-8-sig")
        except FileNotFoundError:
            return ()
        except (OSError, UnicodeDecodeError):
            raise RuleFileError(f"{ADOPTED}: cannot be read; it says which version is in force.") from None
        lines = enumerate(text.splitlines(), 1)
        return tuple(_adoption(line, n) for n, line in lines if line.strip() and not line.startswith("#"))

    def in_force(self) -> Adoption | None:
        """The adoption in force; None where the clinic has no rules of its own yet."""
        adoptions = self.adoptions()
        if adoptions:
            return adoptions[-1]
        there = self.versions()
        if there:
            held = f"version {there[0]}" if len(there) == 1 else f"versions {', '.join(there)}"
            raise RuleFileError(
                f"{self.folder}: holds {held} and no {ADOPTED} that says which is in force; "
                "put one in force with: armrise rules adopt VERSION."
            )
        self._refuse_one_version()
        if self.named:
            what = "holds no rules" if self.folder.is_dir() else "is not there"
            raise RuleFileError(f"{self.folder}: {what}, needed is a folder of rule files or of versions.")
        return None

    def _refuse_one_version(self) -> None:
        if (self.folder / rulesign.COMMON).exists():
            raise RuleFileError(
                f"{self.folder}: is one version of the rules, needed is a folder of versions, "
                "each in a folder named by its number."
            )

    def path(self, version: str) -> Path:
        """The folder of one version. Raises when there is none."""
        if version == SHIPPED_WORD:
            return SHIPPED
        there = self.versions()
        if version not in there:
            offered = ", ".join((*there, SHIPPED_WORD))
            raise RuleFileError(f"version {shown(version)}: is not in {self.folder}, there is {offered}.")
        return self.folder / version

    def load(self, version: str) -> Rules:
        """The rules of one version, "shipped" for those of the program."""
        folder = self.path(version)
        if version == SHIPPED_WORD:
            return replace(load(), origin=SHIPPED_ORIGIN)
        try:
            rules = load(folder)
        except RuleFileError as fault:
            raise RuleFileError(f"version {version}, {fault}") from None
        if rules.version != version:
            raise RuleFileError(
                f"version {version}, {rulesign.COMMON}, version: is {shown(rules.version)}, "
                f"allowed is the name of its folder, {version}."
            )
        return replace(rules, origin=f"the clinic's own, {folder}")

    def load_in_force(self) -> Rules:
        """The rules in force; those of the program where the clinic has none of its own."""
        adoption = self.in_force()
        if adoption is None:
            return replace(load(), origin=SHIPPED_ORIGIN)
        rules = self.load(adoption.version)
        if rules.signed or rulesign.of_folder(self.path(adoption.version)) == adoption.digest:
            return rules
        return replace(rules, doubt=rules.doubt or CHANGED)

    def named_version(self, word: str) -> Rules:
        """The rules of a version, or of a folder of rule files."""
        if word == SHIPPED_WORD or _is_number(word):
            return self.load(word)
        return replace(load(Path(word)), origin=f"the folder {word}")

    def checked(self, word: str = "") -> list[tuple[str, tuple[str, ...]]]:
        """(what was checked, its faults) for a version or a folder; for every version without either."""
        if word and word != SHIPPED_WORD and not _is_number(word):
            other = OwnRules(Path(word), named=True)
            holds_files = (other.folder / rulesign.COMMON).exists()
            return [(word, faults(other.folder))] if holds_files else other.checked()
        if word:
            return [self._checked(word)]
        if self.named and (self.folder / rulesign.COMMON).exists():
            return [(str(self.folder), faults(self.folder))]
        try:
            self.in_force()
        except RuleFileError as fault:
            return [*map(self._checked, self.versions()), (ADOPTED, (str(fault),))]
        return [self._checked(version) for version in self.versions() or (SHIPPED_WORD,)]

    def _checked(self, version: str) -> tuple[str, tuple[str, ...]]:
        found = faults(self.path(version))
        if not found:
            try:
                self.load(version)
            except RuleFileError as fault:
                return f"version {version}", (str(fault),)
        return f"version {version}", tuple(f"version {version}, {fault}" for fault in found)

    def before_adopting(self) -> Rules | None:
        """The rules in force so far; None where they do not hold together, which another version may mend."""
        try:
            return self.load_in_force()
        except RuleFileError:
            return None

    # --- writing: whole or not at all ---------------------------------------------------------------------

    def copy(self, now: datetime) -> str:
        """Copies the rules in force as the next version, unsigned. Returns its number. Nothing is adopted."""
        self._refuse_one_version()
        adoption = self._in_force_or_none()
        version = adoption.version if adoption else SHIPPED_WORD
        self.load(version)  # what does not hold together is not copied
        return self.add(rulesign.read_files(self.path(version)), adoption, now)

    def _in_force_or_none(self) -> Adoption | None:
        """As :meth:`in_force`; a folder asked for by name that is not there yet is made by the copy."""
        return None if self.named and not self._holds_anything() else self.in_force()

    def _holds_anything(self) -> bool:
        return bool(self.versions() or (self.folder / ADOPTED).exists())

    def add(self, files: Mapping[str, str], adoption: Adoption | None, now: datetime) -> str:
        """Adds files as the next version, unsigned and not in force. Returns its number.

        Raises :class:`RuleFileError` where they do not hold together; nothing is then left behind.
        """
        highest = max([int(v) for v in (load().version, *self.versions()) if _is_number(v)], default=0)
        version = str(highest + 1)
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        files = {**files, rulesign.COMMON: rulesign.as_version(files[rulesign.COMMON], version)}
        made = Path(mkdtemp(prefix=".copy-", dir=self.folder))
        try:
            for name, text in files.items():
                write_whole(made / name, text)
            load(made)
            if adoption is None:
                self._write_adoptions([Adoption(now, SHIPPED_WORD, rulesign.of_folder(SHIPPED))])
            made.rename(self.folder / version)
            sync_folder(self.folder)
        except BaseException:
            shutil.rmtree(made, ignore_errors=True)
            raise
        return version

    def adopt(self, version: str, now: datetime) -> Rules:
        """Puts a version in force, once it holds together. Returns its rules."""
        self._refuse_one_version()
        rules = self.load(version)
        entry = Adoption(now, version, rulesign.of_folder(self.path(version)))
        self._write_adoptions([*self.adoptions(), entry])
        return rules

    def _write_adoptions(self, adoptions: Sequence[Adoption]) -> None:
        lines = [
            f"{on_the_clock(a.at, UTC).isoformat(timespec='seconds')} {a.version} {a.digest}"
            for a in adoptions
        ]
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_whole(self.folder / ADOPTED, _ABOUT + "\n".join(lines) + "\n")

    def to_sign(self) -> Rules:
        """The version in force, when it may be signed: it is the clinic's own and nobody has signed it."""
        adoption = self.in_force()
        if adoption is None or adoption.version == SHIPPED_WORD:
            raise RuleFileError(
                "the shipped rules are in force, and they change with the program: make them "
                "the clinic's own (armrise rules copy), put that version in force "
                "(armrise rules adopt), then sign it."
            )
        rules = self.load_in_force()
        if rules.completed:
            raise RuleFileError(
                f"version {rules.version}: is {COMPLETED}, and nobody can sign for what is not in its files; "
                "bring it up to them first (armrise rules upgrade)."
            )
        if rules.signed:
            raise RuleFileError(
                f"version {rules.version}: is {rules.sign_off} already; copy it to change it "
                "(armrise rules copy)."
            )
        return rules

    def sign(self, version: str, name: str, on: date) -> Rules:
        """Records who signed the version in force, and when, with the digest of what was signed."""
        if self.to_sign().version != version:
            raise RuleFileError(f"version {version}: is not in force; put it in force first.")
        name = name.strip()
        if not name or not name.isprintable() or len(name) > rulesign.NAME_LONGEST:
            raise RuleFileError(
                f"name: is {shown(name)}, allowed is text of 1 to {rulesign.NAME_LONGEST} characters."
            )
        folder = self.path(version)
        files = rulesign.read_files(folder)
        text = rulesign.as_signed(files[rulesign.COMMON], name, on, rulesign.digest(files))
        write_whole(folder / rulesign.COMMON, text)
        return self.load(version)


SHIPPED_ORIGIN = "shipped with the program"


def _is_number(name: str) -> bool:
    return name.isascii() and name.isdecimal() and 0 < len(name) <= 6 and name == str(int(name))


def _adoption(line: str, number: int) -> Adoption:
    parts = line.split()
    try:
        at, version, digest = datetime.fromisoformat(parts[0]), parts[1], parts[2]
        if at.tzinfo is None or len(parts) != 3 or not (version == SHIPPED_WORD or _is_number(version)):
            raise ValueError
    except (IndexError, ValueError):
        raise RuleFileError(
            f"{ADOPTED}, line {number}: is {shown(line)}, allowed is an instant, a version and a digest."
        ) from None
    return Adoption(at, version, digest)
