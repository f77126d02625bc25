"""Makes the letters that a PDF is printed in: ``python -m tests.fonts FOLDER``.

FOLDER holds Noto Sans (regular and bold), Noto Sans Math and Noto Sans Symbols 2 as the Noto project has them
(SIL Open Font License 1.1, whose text lies beside what is made). Of the first are kept the Latin, Greek and
Cyrillic blocks and punctuation, of the others what it lacks of arrows, mathematical operators and shapes; no
hints and no layout tables, since a PDF places each letter by its width. The same input gives the same bytes.
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path

from fontTools import subset
from fontTools.merge import Merger, Options
from fontTools.ttLib import TTFont

KEPT = Path(__file__).parents[1] / "store" / "exchange" / "paper" / "fonts"
LETTERS = (
    (0x0020, 0x024F),  # Basic Latin to Latin Extended-B
    (0x02B0, 0x036F),  # modifier letters, combining marks
    (0x0370, 0x052F),  # Greek, Cyrillic and its supplement
    (0x1E00, 0x1FFF),  # Latin Extended Additional, Greek Extended
    (0x2000, 0x218F),  # punctuation, raised and lowered, currency, letterlike, number forms
    (0x2C60, 0x2C7F),  # Latin Extended-C
    (0xFB00, 0xFB06),  # ligatures
)
"""First and last code point of each, by the Unicode standard's list of blocks (Blocks.txt)."""
SIGNS = (
    (0x2190, 0x22FF),  # arrows, mathematical operators
    (0x2500, 0x25FF),  # boxes, blocks, geometric shapes
    (0x2610, 0x2612),  # boxes to tick
    (0x2713, 0x2718),  # ticks and crosses
)
OTHERS = ("NotoSansMath-Regular.ttf", "NotoSansSymbols2-Regular.ttf")


def make(folder: Path) -> None:
    """Make both from the fonts of the project in ``folder``."""
    for name in ("NotoSans-Regular.ttf", "NotoSans-Bold.ttf"):
        parts = [_part(folder / name, points(*LETTERS, *SIGNS))]
        wanted = points(*SIGNS) - set(parts[0].getBestCmap())
        for other in OTHERS:
            parts.append(_part(folder / other, wanted))
            wanted -= set(parts[-1].getBestCmap())
        made = _merged(parts)
        made.save(KEPT / name)
        print(f"{name}: {len(made.getBestCmap())} letters, {(KEPT / name).stat().st_size} bytes")


def points(*blocks: tuple[int, int]) -> set[int]:
    """Every code point of the blocks."""
    return {point for first, last in blocks for point in range(first, last + 1)}


def _part(path: Path, wanted: set[int]) -> TTFont:
    options = subset.Options(hinting=False, layout_features=[], name_IDs=["*"], notdef_outline=True)
    options.drop_tables += ["MATH", "GSUB", "GPOS", "GDEF"]
    font = subset.load_font(str(path), options)
    made = subset.Subsetter(options)
    made.populate(unicodes=wanted)
    made.subset(font)
    return font


def _merged(parts: list[TTFont]) -> TTFont:
    """One font of several; its names, measures and date are those of the first."""
    files = []
    for part in parts:
        files.append(BytesIO())
        part.recalcTimestamp = False
        part.save(files[-1])
        files[-1].seek(0)
    made = Merger(Options()).merge(files)
    first = parts[0]
    made.recalcTimestamp = False
    for table, names in {"head": ("created", "modified"), "hhea": ("ascent", "descent", "lineGap")}.items():
        for name in names:
            setattr(made[table], name, getattr(first[table], name))
    made["name"] = first["name"]
    return made


if __name__ == "__main__":
    make(Path(sys.argv[1]))
