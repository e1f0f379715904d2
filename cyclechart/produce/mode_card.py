"""The card of a mode as a page: tones, paths and phrases on a staff, a picture of its grammar."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.write.files.manifest import write_files
from cyclechart.write.paper.mode_page import mode_page


def write_card(mode: Mode, tonic: Tonic, folder: Path) -> tuple[list[Path], tuple[str, ...]]:
    """Write a mode's card as PDF and pictures, named after the mode.

    Returns the files written, and sentences about files of somebody else's that were kept. Raises
    OSError with the name of what cannot be written.
    """
    stem = re.sub(r"[^a-z0-9]+", "-", fold_words(mode.name)).strip("-") or "mode"
    (pdf,) = mode_page(mode, tonic, "pdf")
    made = {f"{stem}.pdf": pdf}
    for number, page in enumerate(mode_page(mode, tonic, "png"), start=1):
        made[f"{stem}-{number}.png"] = page
    kept = write_files(folder, {f"card {stem}": made})
    return [folder / name for name in made], kept


def fold_words(name: str) -> str:
    """A name in plain small letters, for a file's name."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return plain.lower()[:60]
