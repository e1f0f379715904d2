"""A piece of few cycles with something of everything that is written down, for goldens."""

from __future__ import annotations

from functools import lru_cache

from support.making import piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.score import Score
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.model import Piece

DENSE = """\
title: All Hands
composer: The Tidewater Seven
tonic: Eb
mode: bhimpalasi
cycle:
  {name: Ebb, beats: 7 1/2, sections: [3, 2, 2 1/2], stressed: [1, 6], open: [4],
   strokes: dha - tin ta dha ge tirakita na/2}
tempo: 97
players:
  flute: {plays: melody, octave: 1}
  alto-sax: {plays: melody}
  violin: {plays: melody}
  guitar: {plays: voicings}
  double-bass: {plays: pedal}
  tabla: {plays: theka}
  drum-kit: {plays: theka}
  tanpura: {plays: drone}
lines:
  call: {lands: free, sargam: "n, S g~m P - n - P g R S -"}
  head:
    begins: 6
    sargam: |
      {P}m g R/2 || S - !trill!g~ | m P/2 n/2 | [g m P]x3/2 n/2 ||
      !accent!S' - - | n D | !staccato!P mg R/2 || S
  quick: {sargam: "nSgm PnS' n | DPm gRS | n, S [g m P n S']x5/4 S'/4 ||"}
  beat: {strokes: "dha tirakita na | ti na | ka dhi dha/2"}
  close: {cadence: {sargam: "n, S g"}}
form:
  - {free: call, by: [violin], seconds: 9}
  - {groove: 1}
  - {play: head, times: 2, dynamics: mf}
  - {play: quick, by: [flute, alto-sax]}
  - {solo: violin, cycles: 2, over: head, dynamics: mp}
  - {play: head, cycle: rupak, tempo: {to: 120}, tonic: G}
  - {play: beat, cycle: rupak}
  - {trade: [alto-sax, tabla], cycles: 1, times: 2, cycle: rupak}
  - {play: close, tonic: Eb, tempo: 97}
"""


@lru_cache(maxsize=1)
def dense_piece() -> Piece:
    """The piece."""
    return piece_of(DENSE)


@lru_cache(maxsize=1)
def dense_score() -> Score:
    """Its score."""
    return arrange(dense_piece())


@lru_cache(maxsize=1)
def dense_band() -> Band:
    """The band that plays it."""
    return Band(dense_piece())


@lru_cache(maxsize=8)
def dense_part(player: str) -> Sheet:
    """The part of a player of it."""
    band = dense_band()
    return part_sheet(band, next(one for one in band.piece.players if one.name == player))
