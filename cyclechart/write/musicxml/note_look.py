"""All that tells one written note from another: the key of its template."""

from __future__ import annotations

from typing import NamedTuple

from cyclechart.write.musicxml.note_marks import Dress
from cyclechart.write.musicxml.staff import Sign
from cyclechart.write.musicxml.tuplets import Tuplet


class Look(NamedTuple):
    """All that tells one written note from another but its id: the key of its template."""

    value: int | str
    sign: Sign | None
    length: int
    type: str
    dots: int
    tuplet: Tuplet | None
    opens: bool
    closes: bool
    from_tie: bool
    to_tie: bool
    beams: tuple[str, ...]
    dress: Dress
    graces: str = ""
    also: tuple[tuple[int | str, Sign | None], ...] = ()
    head: str = ""
    under: tuple[int, ...] | None = None
    rings: bool = False
    """Tied to what is not drawn with it."""
