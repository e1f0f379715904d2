"""Random pieces with random lines from lines of every kind: they are judged and written without a
fault, what ``check`` prints reads back, and a line from another with nothing changed is that."""

from __future__ import annotations

import random
import re

import pytest
from support.making import CYCLES, MODES, TONICS, load_text, piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.written_line import KEY_OF, music_of
from cyclechart.rules.judge import judge
from cyclechart.text.excerpts import quoted
from cyclechart.write.midi.file import midi_with_report
from cyclechart.write.musicxml.document import part_xml, score_xml
from cyclechart.write.terminal.derived_lines import as_data, as_text

PLAYERS = {"melody": "flute", "chords": "piano", "kit": "drum-kit", "strokes": "tabla"}


def a_melody(dice: random.Random) -> str:
    marks = ["", "", "", "!p!", "!f!", "!cresc!", "!dim!", "!accent!", "!cut!", '!"on cue"!', "{G}"]
    cells = []
    for _ in range(dice.randint(4, 24)):
        elements = (
            dice.choice(marks) + dice.choice("SRGmPdnDN") + dice.choice(["", "", "'", ","])
            if dice.random() < 0.8
            else dice.choice("-z")
            for _ in range(dice.choice([1, 1, 1, 2, 2, 3, 4]))
        )
        cells.append("".join(elements) + dice.choice(["", "", "", "/2"]))
    return " ".join(_grouped(dice, cells))


def _grouped(dice: random.Random, cells: list[str]) -> list[str]:
    found: list[str] = []
    while cells:
        chance, size = dice.random(), min(dice.randint(2, 4), len(cells))
        some = cells[:size]
        fit = sum(bool(re.search("[SRGPdnDN]", one)) for one in some) > 1
        if chance < 0.2 and fit:
            found.append(f"({' '.join(some)})")
        elif chance < 0.3:
            found.append(f"[{' '.join(some)}]x{dice.choice(['3/2', '2', '5/4', '1/2'])}")
        else:
            size = 1
            found.append(cells[0])
        cells = cells[size:]
    return found


def a_row_of_chords(dice: random.Random) -> str:
    roots = dice.choice([list("SRGmPdn"), ["C", "D", "Eb", "F#", "G", "A", "Bb", "E"]])
    qualities = ["", "m", "7", "m7", "6", "6/9", "sus4", "m7b5"]

    def chord() -> str:
        bass = "/" + dice.choice(roots) if dice.random() < 0.2 else ""
        return dice.choice(roots) + dice.choice(qualities) + bass

    cells = [dice.choice([chord(), "-", "z", f"{chord()}.{chord()}", "-"]) for _ in range(16)]
    return " ".join([chord(), *cells[: dice.randint(3, 16)]])


def a_beat(dice: random.Random) -> str:
    drums = ["k", "h", "k+h", "s+h", "!accent!s", "{s}t", "f+r", "-", "z"]
    cells = ["".join(dice.choices(drums, k=dice.choice([1, 1, 2, 3]))) for _ in range(12)]
    return " ".join(["k", *cells[: dice.randint(3, 12)]])


def some_strokes(dice: random.Random) -> str:
    cells = [
        ".".join(dice.choices(["dha", "dhin", "na", "tin", "ge"], k=dice.choice([1, 1, 2, 3])))
        for _ in range(dice.randint(4, 20))
    ]
    return " ".join(cells)


TEXTS = {"melody": a_melody, "chords": a_row_of_chords, "kit": a_beat, "strokes": some_strokes}


def operations(dice: random.Random) -> str:
    every = {
        "part": ["1", "1", "0", "1-2", "2"],
        "reversed": ["true"],
        "turned": ["S", "P"],
        "move": ["-8", "-2", "1", "3"],
        "mode": list(MODES),
        "speed": ["2", "3/2", "1/2", "dugun", "5/7"],
    }
    asked = [(key, dice.choice(values)) for key, values in every.items() if dice.random() < 0.4]
    return "".join(f", {key}: {value}" for key, value in asked)


def derived_piece(seed: int) -> str:
    dice = random.Random(seed)
    lines: dict[str, str] = {}
    kinds: dict[str, str] = {}
    for number in range(dice.randint(2, 5)):
        kind = dice.choice(["melody", *TEXTS]) if number else "melody"
        begins = dice.choice(["", "", "begins: 3, ", "begins: 4 1/2, ", "lands: free, "])
        rhythm = dice.choice(["", "rhythm: l0, ", "rhythm: written, "]) if kind == "chords" else ""
        key = "sargam" if kind == "melody" else kind
        kinds[f"l{number}"] = kind
        lines[f"l{number}"] = f"{{{begins}{rhythm}{key}: {quoted(TEXTS[kind](dice))}}}"
    for number in range(dice.randint(2, 6)):
        source = dice.choice(list(lines))
        kinds[f"f{number}"] = kinds[source]
        lines[f"f{number}"] = f"{{from: {source}{operations(dice)}}}"
    kinds["same"], lines["same"] = "melody", "{from: l0}"
    steps = []
    for name in lines:
        own = f"{{{PLAYERS[kinds[name]]}: {name}}}"
        solo = f"{{solo: alto-sax, cycles: 2, under: {own}, hits: {dice.choice(list(lines))}}}"
        steps.append(dice.choice([f"play: {own}", f"{{groove: 2, under: {own}}}", solo]))
    players = "".join(f"  {name}: {{}}\n" for name in (*PLAYERS.values(), "alto-sax"))
    return (
        f"title: Piece {seed}\ntonic: {dice.choice(TONICS)}\nmode: {dice.choice(list(MODES))}\n"
        f"cycle: {dice.choice(list(CYCLES))}\ntempo: 100\nplayers:\n{players}lines:\n"
        + "".join(f"  {name}: {text}\n" for name, text in lines.items())
        + "form:\n"
        + "".join(f"  - {step}\n" for step in steps)
    )


def facts(line: Line) -> object:
    def value(note: object) -> object:
        chord = getattr(note, "chord", None)
        if chord is not None:  # letters give roots their steps, degrees the usual ones
            return chord.root, chord.suffix, chord.bass
        return (
            getattr(note, "pitch", None),
            getattr(note, "drums", ()),
            getattr(note, "syllable", ""),
        )

    return line.length, [
        (n.start, n.length, value(n), n.grace, n.marks, n.glides, n.text, n.slur)
        for n in line.notes
    ]


@pytest.mark.parametrize("first", range(0, 30, 10))
def test_what_check_prints_reads_back_whatever_is_done_to_a_line(first: int) -> None:
    count = 0
    for seed in range(first, first + 10):
        text = derived_piece(seed)
        piece = load_text(text).piece
        assert piece is not None, text
        judge(piece)
        as_text(piece)
        as_data(piece)
        for line in piece.lines.values():
            if line.derivation is not None:
                count += 1
                alone = f"lines:\n  own: {{lands: free, {KEY_OF[line.kind]}: "
                alone += f"{quoted(music_of(piece, line))}}}\n"
                again = piece_of(alone, tonic=_tonic(text)).lines["own"]
                assert facts(again) == facts(line), (seed, line.name)
    assert count > 30


def _tonic(text: str) -> str:
    match = re.search("^tonic: (.*)$", text, re.MULTILINE)
    assert match is not None
    return match[1]


def files(piece: Piece) -> list[bytes]:
    band = Band(piece)
    parts = [part_xml(part_sheet(band, player)) for player in piece.players]
    return [midi_with_report(arrange(piece))[0], score_xml(sheet_of(piece, band.road)), *parts]


@pytest.mark.parametrize("seed", range(100, 104))
def test_from_with_nothing_changed_gives_the_same_bytes(seed: int) -> None:
    text = derived_piece(seed)
    own = re.search("^  l0: (.*)$", text, re.MULTILINE)
    assert own is not None
    one = load_text(text).piece
    other = load_text(text.replace("  same: {from: l0}\n", f"  same: {own[1]}\n")).piece
    assert one is not None
    assert other is not None
    assert files(one) == files(other)
