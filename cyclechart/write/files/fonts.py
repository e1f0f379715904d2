"""The fonts that pages need besides typst's own, for texts in other scripts than Latin.

typst brings Libertinus Serif (Latin, Greek, Cyrillic) and New Computer Modern (signs). The others
are Noto fonts, which the extra ``scripts`` installs: the package manimgx-fonts (SIL Open Font
License 1.1, 7 MB, data alone). It is made for another tool, but no package that is made for fonts
has all the scripts of India. Chinese, Japanese and Korean are not among them. Any of the fonts may
be missing: ``font_warnings`` then says which a text would need.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, NamedTuple
from unicodedata import category

from cyclechart.text.display import is_mark

_UNSEEN = ("Cc", "Cf", "Cs", "Zs", "Zl", "Zp")

PACKAGE, SHAPER = "manimgx_fonts", "uharfbuzz"
EXTRA = "scripts"
"""The extra of our own package that installs both."""
TEXT, SIGNS = "Libertinus Serif", "New Computer Modern Math"
"""typst's own: the letters, and the signs that they lack."""

OWN = (
    "\t\n\r\x20-\u0484\u0487-\u04ff\u1d00-\u1dbf\u1e00-\u20d8\u20e4-\u2151\u2153-\u2184\u2189"
    "\u2190-\u23ff\u2422\u2423\u2460-\u2606\u2609-\u262f\u2638-\u268b\u2690-\u269c\u26a0-\u26a7"
    "\u26aa-\u26af\u26b2\u2701-\u2704\u2706-\u2709\u270c-\u2714\u2717-\u2726\u272a-\u274b\u274d"
    "\u274f-\u2752\u2756\u2758-\u275e\u2761-\u277f\u2794\u2798-\u27af\u27b1-\u2bff\u2c60-\u2c7f"
    "\u13a0-\u13fd\u2c80-\u2cff\u3012\u3016\u3017\u301a\u301b\u3036\u306e\ua46a\ua46b\uab70-\uabbf"
    "\ufb00-\ufb06\ufe66\ufffd\U00010140-\U0001018e\U000102e1-\U000102fb\U0001d106\U0001d107"
    "\U0001d400-\U0001d7ff\U0001ee00-\U0001eef1\U0001f780-\U0001f7d8\U0001f800-\U0001f8b1"
)
"""What typst's own fonts have, as a pattern's class (tests/write/test_fonts.py asks typst)."""

_OTHER = re.compile(f"[^{OWN}]")


class Family(NamedTuple):
    """A family of fonts: its name, its file, and its characters as a class of a pattern."""

    name: str
    file: str
    signs: str


def _script(name: str, signs: str) -> Family:
    return Family(f"Noto Sans {name}", f"NotoSans{name}[wght].ttf", signs)


_PICTURES = "\u2600-\u27bf\u3030\u303d\u3297\u3299\U0001f000-\U0001faff"

_MORE_LATIN = "\u0485\u0486\u0500-\u052f\u1c80-\u1fff\ua640-\ua7ff"

FAMILIES = (
    _script("Devanagari", "\u0900-\u097f\u1cd0-\u1cff\ua8e0-\ua8ff"),
    _script("Bengali", "\u0980-\u09ff"),
    _script("Gurmukhi", "\u0a00-\u0a7f"),
    _script("Gujarati", "\u0a80-\u0aff"),
    _script("Oriya", "\u0b00-\u0b7f"),
    _script("Tamil", "\u0b80-\u0bff"),
    _script("Telugu", "\u0c00-\u0c7f"),
    _script("Kannada", "\u0c80-\u0cff"),
    _script("Malayalam", "\u0d00-\u0d7f"),
    _script("Sinhala", "\u0d80-\u0dff"),
    _script("Thai", "\u0e00-\u0e7f"),
    _script("Lao", "\u0e80-\u0eff"),
    _script("Myanmar", "\u1000-\u109f\ua9e0-\ua9ff\uaa60-\uaa7f"),
    _script("Georgian", "\u10a0-\u10ff\u1c90-\u1cbf\u2d00-\u2d2f"),
    _script("Ethiopic", "\u1200-\u139f\u2d80-\u2ddf\uab00-\uab2f"),
    _script("Khmer", "\u1780-\u17ff\u19e0-\u19ff"),
    _script("Armenian", "\u0530-\u058f\ufb13-\ufb17"),
    _script("Hebrew", "\u0590-\u05ff\ufb1d-\ufb4f"),
    _script("Arabic", "\u0600-\u06ff\u0750-\u077f\u0870-\u08ff\ufb50-\ufdff\ufe70-\ufefe"),
    Family(
        "Noto Emoji", "NotoEmoji[wght].ttf", _PICTURES + "\u20e3\ufe0f\U000e0020-\U000e007f"
    ),
    _script("Symbols", _PICTURES + "\u20d0-\u20f0\u2185-\u2188\u2400-\u24ff"),
    Family("Noto Sans", "NotoSans[wght].ttf", OWN + _MORE_LATIN),
)  # fmt: skip
"""In the order in which they are asked: a picture is an emoji before it is a symbol."""

PLAIN = FAMILIES[-1]

_PATTERNS = {family: re.compile(f"[{family.signs}]") for family in FAMILIES}


_SHARED = "\u0951\u0952"
"""Lines over and under a letter that most scripts of India share, which Unicode has in the range
of Devanagari."""

_BEARER = re.compile(f"([^{_SHARED}])(?=[{_SHARED}])")


def needs_more(text: str) -> bool:
    """Return whether a text has characters that typst's own fonts lack."""
    return bool(_OTHER.search(text))


def installed(family: Family) -> Path | None:
    """Return the file of a family, or None where it is not installed."""
    root = folder()
    path = root / family.file if root is not None else None
    return path if path is not None and path.is_file() else None


def families_for(texts: Iterable[str]) -> list[Family]:
    """The families that some texts need, in the order of ``FAMILIES``; mostly none."""
    found = {sign for text in texts for sign in _OTHER.findall(text)}
    letters = found - set(_SHARED)
    others = "".join(sorted(letters or found))
    if not others:
        return []
    return [f for f in FAMILIES if f is PLAIN or _PATTERNS[f].search(others)]


def family_names(texts: Iterable[str]) -> list[str]:
    """The families of a page with these texts, in the order that typst is to try them."""
    texts = list(texts)
    bearers = "".join(sorted({letter for text in texts for letter in _BEARER.findall(text)}))
    families = [family for family in families_for(texts) if installed(family)]
    # A shared line is set from the first family that has it, and a letter of another one is lost.
    families.sort(key=lambda family: not _PATTERNS[family].search(bearers))
    more = [family.name for family in families]
    # The signs of New Computer Modern stand before those of the plain Noto Sans and the emoji,
    # after the scripts: it has a Devanagari of its own, without conjuncts.
    late = ("Noto Emoji", "Noto Sans Symbols", "Noto Sans")
    scripts = [name for name in more if name not in late]
    return [TEXT, *scripts, SIGNS, *(name for name in more if name in late)]


def font_paths(texts: Iterable[str]) -> list[str]:
    """The folders of fonts that typst must be given for these texts; mostly none."""
    found = folder() if families_for(texts) else None
    return [str(found)] if found else []


@lru_cache(maxsize=1)
def folder() -> Path | None:
    """Return the folder of the fonts, or None where they, or what sets them, is not installed."""
    found = find_spec(PACKAGE) if find_spec(SHAPER) else None
    return Path(found.origin).parent if found and found.origin else None


@lru_cache(maxsize=len(FAMILIES))
def face(family: Family) -> Any:
    """Return the font of a family, which is installed, opened for shaping."""
    import uharfbuzz

    return uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(installed(family))))


@lru_cache(maxsize=len(FAMILIES))
def _characters(family: Family) -> frozenset[int]:
    return frozenset(face(family).unicodes) if installed(family) else frozenset()


def family_of(sign: str) -> Family | None:
    """Return the first family that is installed and has a character, or None."""
    for family in FAMILIES:
        if _PATTERNS[family].match(sign) and ord(sign) in _characters(family):
            return family
    return next((f for f in FAMILIES[::-1] if ord(sign) in _characters(f)), None)


def without_font(texts: Sequence[str]) -> list[str]:
    """The characters of some texts that no font of the page has, sorted.

    Joiners and the like, which are not to be seen, are none.
    """
    others = sorted({sign for text in texts for sign in _OTHER.findall(text)})
    seen = [sign for sign in others if not is_mark(sign) and category(sign) not in _UNSEEN]
    return [sign for sign in seen if family_of(sign) is None]


def font_warnings(texts: Sequence[str]) -> Iterator[str]:
    """Say in plain sentences which characters the page cannot show as written; mostly nothing."""
    lacking = without_font(texts)
    missing = {sign: family for sign in lacking if (family := _missing_family(sign)) is not None}
    boxes = [sign for sign in lacking if sign not in missing]
    if boxes:
        yield f"no font of the chart has {_listed(boxes)}: boxes stand in their place on the page"
    if missing:
        names = [family.name for family in FAMILIES if family in missing.values()]
        yield (
            f"the page cannot show {_listed(list(missing))} as written, because fonts are not "
            f"installed: {', '.join(names)}. Install them with: pip install 'cyclechart[{EXTRA}]' "
            f"(from cyclechart's own folder: pip install '.[{EXTRA}]')"
        )


def _missing_family(sign: str) -> Family | None:
    """The family that is meant for a character, where it is not installed."""
    family = next((family for family in FAMILIES if _PATTERNS[family].match(sign)), None)
    return family if family is not None and installed(family) is None else None


def _listed(signs: Sequence[str], most: int = 8) -> str:
    more = f" and {len(signs) - most} more" if len(signs) > most else ""
    return f"{' '.join(signs[:most])}{more}"
