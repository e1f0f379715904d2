"""Cycles that are known by name but have no printed form, with what is known of each."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

import yaml

from cyclechart.finding import Finding, Spot, suggestions


class Unprinted(NamedTuple):
    """A cycle of ``beats`` beats whose form no source of ours prints whole."""

    name: str
    beats: int
    aka: tuple[str, ...]
    says: str
    source: str

    @property
    def own(self) -> str:
        """A sound definition to start from: what is known of it, and no more."""
        return f"cycle: {{name: {self.name}, beats: {self.beats}}}"

    @property
    def how(self) -> str:
        """The suggestion for a piece that names it."""
        return f"{self.own}, adding sections:, stressed: and open: as you were taught"

    def finding(self, spot: Spot) -> Finding:
        """Return the finding on a piece that names it."""
        return Finding("unknown-name", "error", spot, self.says, suggestions((self.how,)))


@lru_cache(maxsize=1)
def unprinted() -> dict[str, Unprinted]:
    """Every such cycle by its name."""
    text = (Path(__file__).parent / "unprinted.yaml").read_text("utf-8")
    data = yaml.load(text, getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return {
        key: Unprinted(row["name"], row["beats"], tuple(row["aka"]), row["says"], row["source"])
        for key, row in data.items()
    }
