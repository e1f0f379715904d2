"""The order of a score's staves, their families and the short names before them.

Families stand from the top as the handbooks have it (Gould, Behind Bars, on the layout of scores:
woodwind, brass, percussion, keyboards and plucked, voices, strings; from memory), with the rhythm
section where jazz scores have it: horns over the voice, then chords, bass and drums at the foot
(from memory), and with the hand drums and the reciter under the kit. Strings, which a jazz score
seldom has, stand over the bass. Within a family the order is that of the catalogue, high to low;
players of the same instrument stand as the piece names them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cyclechart.catalog.instruments import Instrument, instrument, instrument_names
from cyclechart.piece.player import Player
from cyclechart.text.display import player_title

LONGEST_SHORT = 8
"""The letters of a player's own name that stand before a system without being abbreviated."""


@dataclass(frozen=True)
class ScoreSection:
    """Families of the catalogue that stand together in a score, under one bracket.

    ``joined``: barlines run through its staves; between voices they would cut the words.
    """

    name: str
    families: tuple[str, ...]
    joined: bool = True


SECTIONS = (
    ScoreSection("woodwinds", ("woodwind",)),
    ScoreSection("brass", ("brass",)),
    ScoreSection("voices", ("voice",), joined=False),
    ScoreSection("keyboards", ("mallets", "keyboard")),
    ScoreSection("plucked", ("frets", "plucked")),
    ScoreSection("strings", ("strings",)),
    ScoreSection("bass", ("bass",)),
    ScoreSection("drums", ("kit", "hand drums")),
)
"""The sections of a score from the top."""


def section_of(played: Instrument) -> ScoreSection:
    """Return the section of a score that an instrument belongs to: of a family that is not listed,
    the last."""
    return next(
        (section for section in SECTIONS if played.family in section.families), SECTIONS[-1]
    )


def in_score_order(players: Iterable[Player]) -> list[Player]:
    """Return players from the top of a score to its foot."""

    families = [family for section in SECTIONS for family in section.families]
    names = instrument_names()

    def rank(player: Player) -> tuple[int, int]:
        name, family = player.instrument.name, player.instrument.family
        return (
            families.index(family) if family in families else len(families),
            names.index(name) if name in names else len(names),
        )

    return sorted(players, key=rank)


def short_names(players: Sequence[Player]) -> list[str]:
    """Return the short name of each player: no two are the same.

    ``tenor-sax`` is T. Sx., ``trumpet 2`` Tpt. 2; a player's own name stays, or is abbreviated.
    """
    shorts = [_short_name(player) for player in players]
    counts = Counter(shorts)
    return [
        short if counts[short] == 1 else player_title(player.name)
        for short, player in zip(shorts, players, strict=True)
    ]


def _short_name(player: Player) -> str:
    title = player_title(player.name)
    words, number = title.split(" "), ""
    if len(words) > 1 and (words[-1].isdigit() or set(words[-1]) <= set("IVX")):
        number = words.pop()
    name, played = " ".join(words), player.instrument
    if name.lower() in (played.name.replace("-", " "), played.title.lower()):
        return f"{played.short} {number}".strip()
    if instrument(name) == played and len(name) > LONGEST_SHORT:
        return f"{played.short} {number}".strip()
    if len(title) <= LONGEST_SHORT:
        return title
    if len(words) > 1:
        return " ".join([*(f"{word[:1]}." for word in words), number]).strip()
    return f"{name[: LONGEST_SHORT - 2]}. {number}".strip()
