"""The rules of a set: like those of a piece, over a gig."""

from __future__ import annotations

from typing import TypeAlias

from cyclechart.piece.set.gig import Gig
from cyclechart.rules.rule import RuleOver

SetRule: TypeAlias = RuleOver[Gig]
