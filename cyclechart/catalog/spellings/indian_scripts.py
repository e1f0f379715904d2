"""The seven names in the scripts of India, with the signs of their printed notations.

Spellings of the names beside those of ``svara_scripts``, long vowels among them, are from memory.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from cyclechart.catalog.spellings.forms import DEGREES, readings
from cyclechart.catalog.spellings.marks import AFTER, BEFORE, octave_of, signs_on
from cyclechart.catalog.spellings.model import Form, Match, SpelledTone, Spelling
from cyclechart.catalog.svara_scripts import SVARA_SCRIPTS
from cyclechart.theory.tones import SOLFA16

_MORE = {
    "devanagari": "सा|स रे|रि|री|र ग|गा म|मा प|पा ध|धा|द नि|नी|न",
    "gujarati": "સા|સ રે|રિ|રી|ર ગ|ગા મ|મા પ|પા ધ|ધા નિ|ની|ન",
    "gurmukhi": "ਸਾ|ਸ ਰੇ|ਰਿ|ਰੀ|ਰ ਗ|ਗਾ ਮ|ਮਾ ਪ|ਪਾ ਧ|ਧਾ ਨੀ|ਨਿ|ਨ",
    "bengali": "স|সা র|রে|রা গ|গা ম|মা প|পা ধ|ধা ন|না|নি|নী",
    "telugu": "స|సా రి|రీ|రె గ|గా మ|మా ప|పా ద|దా|ధ|ధా ని|నీ",
    "kannada": "ಸ|ಸಾ ರಿ|ರೀ|ರೆ ಗ|ಗಾ ಮ|ಮಾ ಪ|ಪಾ ದ|ದಾ|ಧ|ಧಾ ನಿ|ನೀ",
    "tamil": "ஸ|ஸா|ச|சா ரி|ரீ க|கா ம|மா ப|பா த|தா நி|நீ|னி|னீ",
    "malayalam": "സ|സാ രി|രീ ഗ|ഗാ മ|മാ പ|പാ ധ|ധാ|ദ|ദാ നി|നീ",
}
"""The spellings of the seven names in each script, in the order S R G M P D N."""
_BENGALI: dict[str, tuple[str, Form]] = {
    "ঋ": ("R", "lower"), "ঋা": ("R", "lower"), "জ্ঞ": ("G", "lower"), "জ্ঞা": ("G", "lower"),
    "হ্ম": ("M", "raised"), "হ্মা": ("M", "raised"), "ক্ষ": ("M", "raised"),
    "ক্ষা": ("M", "raised"), "দ": ("D", "lower"), "দা": ("D", "lower"), "ণ": ("N", "lower"),
    "ণা": ("N", "lower"), "ণি": ("N", "lower"),
}  # fmt: skip
"""The letters of Bengali that stand for a lower or a raised tone by themselves."""
_ZERO = {"telugu": 0x0C66, "kannada": 0x0CE6, "tamil": 0x0BE6, "malayalam": 0x0D66}
"""The figure 0 of the scripts in which a figure may say which of the sixteen a name is."""
_AVAGRAHA = "\u093d"


def _names(script: str) -> dict[str, tuple[str, Form | None]]:
    """Return every spelling of a name in a script with its degree, and its form where the letter
    says it."""
    own: dict[str, tuple[str, Form | None]] = dict(_BENGALI) if script == "bengali" else {}
    rows = [row.split("|") for row in _MORE[script].split()]
    for degree, spellings, first in zip(DEGREES, rows, SVARA_SCRIPTS[script].seven, strict=True):
        own |= dict.fromkeys((first, *spellings), (degree, None))
    return {unicodedata.normalize("NFD", name): tone for name, tone in own.items()}


def _spelling(script: str) -> Spelling:
    return Spelling(
        name=script,
        distinct=True,
        title=f"{script.capitalize()} letters",
        match=_matcher(script),
        proves=bool,
        resolve=readings,
        signs=((_AVAGRAHA, "-"), ("S", "-"), ("s", "-")),
    )


def _matcher(script: str) -> Match:
    names = _names(script)
    known = SVARA_SCRIPTS[script]
    octaves = {sign: by for sign, by in ((known.above, 1), (known.below, -1)) if sign}
    zero = _ZERO.get(script)
    figures = dict(zip("123\u2081\u2082\u2083", "123" * 2, strict=True)) if zero else {}
    figures |= {chr(zero + number): str(number) for number in (1, 2, 3)} if zero else {}
    signs = f"[{''.join(octaves)}\u0300-\u036f\u0951\u0952]"
    # Signs may stand within a name: after its letter and before its vowel.
    spread = (f"{signs}*".join(map(re.escape, name)) for name in sorted(names, key=len)[::-1])
    figure = f"(?P<figure>[{''.join(figures)}])?" if figures else "(?P<figure>(?!))?"
    pattern = re.compile(f"{BEFORE}(?P<name>(?:{'|'.join(spread)}){signs}*){figure}{AFTER}")
    sign = re.compile(signs)

    def match(text: str, at: int) -> tuple[int, SpelledTone] | None:
        found = pattern.match(text, at)
        if found is None:
            return None
        degree, form = names[sign.sub("", found["name"])]
        on_it = sign.findall(found["name"])
        drawn = signs_on("".join(one for one in on_it if one not in octaves), can_rise=True)
        if drawn is None or not _fits(degree, drawn[1]):
            return None
        pitch = None
        if found["figure"]:
            pitch = SOLFA16.get(degree + figures[found["figure"]])
            if pitch is None:
                return None
        octave = sum(octaves.get(one, 0) for one in on_it) + drawn[0] + octave_of(found)
        return found.end(), SpelledTone(degree, form or drawn[1], octave, pitch=pitch)

    return match


def _fits(degree: str, form: Form | None) -> bool:
    if form is None:
        return True
    return degree not in "SP" and (form == "raised") == (degree == "M")


def spellings() -> Iterator[Spelling]:
    """Yield one spelling for each script."""
    yield from map(_spelling, SVARA_SCRIPTS)
