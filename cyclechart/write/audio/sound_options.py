"""What a user chooses of the sound of all files: for which listening, with whose sound font."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cyclechart.sound.soundfont_file import SoundFont

Balance = Literal["headphones", "loudspeakers"]
BALANCES: tuple[Balance, ...] = ("headphones", "loudspeakers")
"""The balances; the usual one comes first."""


@dataclass(frozen=True)
class SoundOptions:
    """What is chosen of the sound.

    ``balance``: what it is to be heard on; ``font``: what players of lines, bass and kit sound
    from, None for our own voices.
    """

    balance: Balance = "headphones"
    font: SoundFont | None = None

    @property
    def key(self) -> tuple[str, str]:
        """What two choices differ in that do not sound alike."""
        return self.balance, self.font.digest if self.font else ""

    @property
    def for_loudspeakers(self) -> bool:
        """True if it is to be heard on a phone's or a small box's loudspeaker."""
        return self.balance == "loudspeakers"

    @property
    def in_album(self) -> str:
        """The end of an album's name that says so; "" for the usual sound."""
        return " (for loudspeakers)" if self.for_loudspeakers else ""

    @property
    def words(self) -> list[str]:
        """The words that say so in a file's name."""
        font = [f"font {self.font.path.stem}"] if self.font else []
        return [*font, *(["for loudspeakers"] if self.for_loudspeakers else [])]

    @property
    def in_folder(self) -> str:
        """The end of a folder's name that says so; "" for the usual sound."""
        return "-for-loudspeakers" if self.for_loudspeakers else ""


USUAL = SoundOptions()
