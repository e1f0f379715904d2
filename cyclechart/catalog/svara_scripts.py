"""The seven and the twelve svara names in the scripts of India.

In the scripts of the North the lower form of a tone has a line under it and the raised fourth one
over it; Bengali has letters of its own for these (Bhatkhande's notation; Bengali akarmatrik). In
those of the South a figure after the name says which of the sixteen it is, as on southern charts.
All from memory: schools and books differ, and a player's own teacher goes first.
"""

from __future__ import annotations

from typing import NamedTuple

LATIN = "latin"

_LOWER, _RAISED = "\u0952", "\u0951"
"""The line under a lowered tone and the one over a raised fourth, which Indic fonts share."""


class SvaraScript(NamedTuple):
    """The names of the tones in one script.

    ``seven``: S R G M P D N. ``twelve``: the tones by semitone; () for a script in which a figure
    says which form it is. ``above`` and ``below``: the dot of the octave over and under a name; ""
    where the staff alone shows it.
    """

    seven: tuple[str, ...]
    twelve: tuple[str, ...] = ()
    above: str = ""
    below: str = ""

    def dotted(self, name: str, octave: int) -> str:
        """Return a name with the dot of its octave: one, however far it is."""
        if octave < 0 and self.below:
            return name[0] + self.below + name[1:]
        if octave > 0 and self.above:
            lines = name.rstrip(_LOWER + _RAISED)
            return lines + self.above + name[len(lines) :]
        return name


def _northern(seven: str, above: str, below: str) -> SvaraScript:
    s, r, g, m, p, d, n = names = tuple(seven.split())
    twelve = (
        s, r + _LOWER, r, g + _LOWER, g, m, m + _RAISED, p, d + _LOWER, d, n + _LOWER, n,
    )  # fmt: skip
    return SvaraScript(names, twelve, above, below)


SVARA_SCRIPTS: dict[str, SvaraScript] = {
    "devanagari": _northern("सा रे ग म प ध नि", "\u0902", "\u093c"),
    "gujarati": _northern("સા રે ગ મ પ ધ નિ", "\u0a82", "\u0abc"),
    "gurmukhi": _northern("ਸ ਰੇ ਗ ਮ ਪ ਧ ਨੀ", "\u0a02", "\u0a3c"),
    "bengali": SvaraScript(
        ("স", "র", "গ", "ম", "প", "ধ", "ন"),
        ("স", "ঋ", "র", "জ্ঞ", "গ", "ম", "হ্ম", "প", "দ", "ধ", "ণ", "ন"),
    ),
    "telugu": SvaraScript(("స", "రి", "గ", "మ", "ప", "ద", "ని")),
    "kannada": SvaraScript(("ಸ", "ರಿ", "ಗ", "ಮ", "ಪ", "ದ", "ನಿ")),
    "tamil": SvaraScript(("ஸ", "ரி", "க", "ம", "ப", "த", "நி")),
    "malayalam": SvaraScript(("സ", "രി", "ഗ", "മ", "പ", "ധ", "നി")),
}
"""The scripts by name, for which the extra ``scripts`` has fonts."""


def letters_of(script: str) -> str:
    """Return every letter and sign of the names in a script; "" for Latin."""
    svaras = SVARA_SCRIPTS.get(script)
    if svaras is None:
        return ""
    return "".join((*svaras.seven, *svaras.twelve, svaras.above, svaras.below))


SCRIPT_NAMES = (LATIN, *SVARA_SCRIPTS)
