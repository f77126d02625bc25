"""What others install, made from the last commit and looked at: ``python -m tests.release FOLDER``.

A source archive that holds every committed file, and a wheel made from that archive and from nothing else.
It needs the standard library, git and the package ``build``; the project need not be installed.

``--home ADDRESS`` names where the project is kept: both files then link there. ``--files ADDRESS`` is the
address below which its files are read one by one: the pictures of the README then show wherever the README is
read. Neither is known to the working copy, which is why whoever releases says them.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tarfile
import tempfile
import tomllib
import zipfile
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path, PurePosixPath

ROOT = Path(__file__).parents[1]
PICTURE = re.compile(r"(?<=\]\()(?!\w+:)(?=[\w./-]+\.svg\))")
"""Where an address is missing: before the path of a picture that lies beside the page."""


def with_addresses(page: str, files: str) -> str:
    """The page, each picture of it by its whole address.

    >>> with_addresses("![A list](tests/pictures/list.svg) and [keys](#keys)", "https://example.org/files")
    '![A list](https://example.org/files/tests/pictures/list.svg) and [keys](#keys)'
    """
    return PICTURE.sub(files.rstrip("/") + "/", page)


def linked(project: str, home: str) -> str:
    """The text of ``pyproject.toml`` with links to ``home``, the address of the project."""
    if "urls" in tomllib.loads(project)["project"]:
        raise SystemExit("pyproject.toml names the links of the project already: leave out --home")
    return f'{project.rstrip()}\n\n[project.urls]\nHomepage = "{home}"\n'


def committed() -> list[str]:
    """Every file of the last commit, by its path."""
    return _git("ls-tree", "-r", "-z", "--name-only", "HEAD").decode().rstrip("\0").split("\0")


def packaged(paths: Iterable[str]) -> set[str]:
    """Where each file that the program needs has to lie in the wheel.

    >>> sorted(packaged(["store/__init__.py", "tests/tour.py", "demo_caseload.json", "tui/app/armrise.tcss"]))
    ['armrise/demo_caseload.json', 'armrise/store/__init__.py', 'armrise/tui/app/armrise.tcss']
    """
    rooms = ("store", "tui", "demo_caseload.json")
    return {f"armrise/{path}" for path in paths if PurePosixPath(path).parts[0] in rooms}


def differences(expected: set[str], found: set[str], what: str) -> list[str]:
    """What is missing from a file that others install, and what lies in it unasked, a sentence each."""
    missing = [f"{what} lacks {path}" for path in sorted(expected - found)]
    return missing + [f"{what} holds {path}, which is not committed" for path in sorted(found - expected)]


def held(source: Path, wheel: Path) -> tuple[set[str], set[str]]:
    """The files in the source archive and in the wheel, less what the build adds by itself."""
    with tarfile.open(source) as archive:
        inside = {member.name.partition("/")[2] for member in archive if member.isfile()}
    added = {"PKG-INFO", "setup.cfg", "MANIFEST.in"}
    sources = {path for path in inside - added if ".egg-info/" not in path}
    with zipfile.ZipFile(wheel) as archive:
        return sources, {path for path in archive.namelist() if ".dist-info/" not in path}


def make(into: Path, *, home: str = "", files: str = "") -> tuple[Path, Path]:
    """The source archive and the wheel of the last commit, put into a folder."""
    into.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        _lay_out(Path(place), home, files)
        command = [sys.executable, "-m", "build", "--outdir", str(into.resolve()), place]
        made = subprocess.run(
            command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False
        )
        if made.returncode:
            raise SystemExit(f"{made.stdout}\nthe build failed")
    (source,), (wheel,) = into.glob("armrise-*.tar.gz"), into.glob("armrise-*.whl")
    return source, wheel


def _lay_out(place: Path, home: str, files: str) -> None:
    """The committed files in a folder of their own, told what the source archive has to hold."""
    with tempfile.TemporaryFile() as packed:
        packed.write(_git("archive", "HEAD"))
        packed.seek(0)
        with tarfile.open(fileobj=packed) as archive:
            archive.extractall(place, filter="data")
    folders = ("store", "tui", "tests", ".ci")
    names = ("DEVELOPERS.md", "demo_caseload.json", ".gitignore")
    lines = [*(f"graft {folder}" for folder in folders), *(f"include {name}" for name in names)]
    (place / "MANIFEST.in").write_text("\n".join([*lines, ""]), encoding="utf-8")
    if files:
        _change(place / "README.md", with_addresses, files)
    if home:
        _change(place / "pyproject.toml", linked, home)


def _change(path: Path, how: Callable[[str, str], str], address: str) -> None:
    path.write_text(how(path.read_text(encoding="utf-8"), address), encoding="utf-8")


def _git(*arguments: str) -> bytes:
    return subprocess.run(["git", *arguments], cwd=ROOT, check=True, stdout=subprocess.PIPE).stdout


def main(arguments: Sequence[str]) -> None:
    """Make both, and refuse them where a file is missing or too many."""
    asked = argparse.ArgumentParser(prog="python -m tests.release", description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--home", default="", help="the address of the project")
    asked.add_argument("--files", default="", help="the address below which its files are read")
    given = asked.parse_args(arguments)
    if given.folder.exists() and any(given.folder.iterdir()):
        raise SystemExit(f"{given.folder} is not empty: name a new folder")
    source, wheel = make(given.folder, home=given.home, files=given.files)
    sources, installed = held(source, wheel)
    faults = differences(set(committed()), sources, source.name)
    faults += differences(packaged(committed()), installed, wheel.name)
    if faults:
        raise SystemExit("\n".join(faults))
    print(source, wheel, sep="\n")


if __name__ == "__main__":
    main(sys.argv[1:])
