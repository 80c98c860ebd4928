"""Makes the two faces that a PDF embeds: Literata (SIL Open Font License 1.1), upright, regular and bold.

    python remake.py FOLDER

FOLDER holds the package @fontsource-variable/literata as npm unpacks it (version 5.3.0; its Latin parts are the very
files in static/fonts). Needs fonttools and brotli. Each part is instanced at both weights and the parts are merged, so
that one face has all Latin letters (Vietnamese too), Greek and Cyrillic. Digits of the same width (tnum) stand in for
the usual ones, since amounts stand one under another; U+FFFD is drawn as a box, which stands for what the face lacks.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from fontTools.merge import Merger
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

PARTS = ["latin", "latin-ext", "vietnamese", "greek", "cyrillic"]
DIGITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]


def part(folder: Path, name: str, weight: int, made: str) -> str:
    font = TTFont(folder / "files" / f"literata-{name}-wght-normal.woff2")
    font = instantiateVariableFont(font, {"wght": weight})
    font.flavor = None
    for table in ("vhea", "vmtx", "DSIG"):
        if table in font:
            del font[table]
    path = f"{made}/literata-{name}-{weight}.ttf"
    font.save(path)
    return path


def box() -> tuple:
    pen = TTGlyphPen(None)
    for corners in ([(60, 0), (60, 660), (500, 660), (500, 0)], [(100, 40), (460, 40), (460, 620), (100, 620)]):
        pen.moveTo(corners[0])
        for corner in corners[1:]:
            pen.lineTo(corner)
        pen.closePath()
    return pen.glyph(), (560, 60)


def face(folder: Path, name: str, weight: int, made: str) -> None:
    font = Merger().merge([part(folder, of, weight, made) for of in PARTS])
    font.setGlyphOrder([*font.getGlyphOrder(), "uniFFFD"])
    glyph, metrics = box()
    font["glyf"]["uniFFFD"] = glyph
    font["hmtx"]["uniFFFD"] = metrics
    for table in font["cmap"].tables:
        for digit in DIGITS:
            if 0x30 + DIGITS.index(digit) in table.cmap:
                table.cmap[0x30 + DIGITS.index(digit)] = f"{digit}.tf"
        table.cmap[0xFFFD] = "uniFFFD"
    for number, text in ((2, name.title()), (4, f"Literata {name.title()}"), (6, f"Literata-{name.title()}")):
        font["name"].setName(text, number, 3, 1, 0x409)
    font["head"].created = font["head"].modified = 0
    font.recalcTimestamp = False
    font.save(Path(__file__).parent / f"literata-{name}.ttf")
    widths = {font["hmtx"][f"{digit}.tf"][0] for digit in DIGITS}
    assert len(widths) == 1, widths
    print(name, len(font.getGlyphOrder()), "glyphs", len(font.getBestCmap()), "letters")


def main() -> None:
    with TemporaryDirectory() as made:
        for name, weight in (("regular", 400), ("bold", 700)):
            face(Path(sys.argv[1]), name, weight, made)


main()
