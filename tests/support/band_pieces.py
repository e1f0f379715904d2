"""Random pieces for a whole band with every key of lines and steps, and the same pieces spoiled."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import yaml

CYCLES: dict[str, list[Fraction]] = {
    "keherwa": [Fraction(4), Fraction(4)],
    "jhaptal": [Fraction(2), Fraction(3), Fraction(2), Fraction(3)],
    "rupak": [Fraction(3), Fraction(2), Fraction(2)],
    "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}": [
        Fraction(4), Fraction(4), Fraction(3), Fraction(1, 2),
    ],
}  # fmt: skip
"""Cycles, and the beats that are written in a row in each: the last may be half a beat."""
PLAYERS = """\
  flute: {plays: melody, octave: 1, reads: {names: sargam, script: devanagari, print: large}}
  alto-sax: {plays: melody, reads: {names: degrees}}
  trombone: {plays: melody, octave: -1, reads: {clef: tenor, names: none}}
  clarinet: {plays: melody}
  piano: {plays: voicings}
  guitar: {plays: voicings}
  double-bass: {plays: pedal}
  drum-kit: {plays: theka}
  tabla: {plays: theka}
  tanpura: {plays: drone}
"""
QUALITIES = ["", "m7", "7", "maj7", "m7b5", "7(b9,#11)", "6/9", "sus4", "13", "add9", "dim7"]


def band_piece(seed: int) -> str:
    """A piece for ten players with chords, kit, hits, lines beneath, swing and the rest."""
    dice = random.Random(seed)
    cycle = dice.choice(list(CYCLES))
    band = _Writer(dice, CYCLES[cycle])
    head = band.melody(2)
    band.accents = "!accent!" in head
    lines = {
        "head": f'{{sargam: "{head}", words: ["{band.words()}", "{band.words()}"]}}',
        "low": f"{{from: head, move: {dice.choice([-2, 2, 7, -7])}}}",
        "echo": f"{{from: head, {dice.choice(['part: 1', 'turned: S', 'reversed: true'])}}}",
        "riff": f'{{sargam: "{band.melody(1)}"}}',
        "across": '{sargam: "S G/2 P/4", lands: free}',
        "comp": f'{{chords: "{band.chords()}", rhythm: {dice.choice(["own", "written", "riff"])}}}',
        "groove": f'{{kit: "{band.kit()}"}}',
        "figures": f'{{sargam: "{band.figures()}"}}',
        "call": '{strokes: "dha -ge na tin", lands: free}',
    }
    steps = [f"  - {band.step()}\n" for _ in range(dice.randint(2, 5))]
    heading = (
        f"title: Band {seed}\ntonic: {dice.choice(['C', 'Eb', 'F#', 'G'])}\nmode: charukeshi\n"
        f"cycle: {cycle}\ntempo: {dice.choice(['60', '132', '220'])}\n"
        f"swing: {dice.choice(['2/1', '1/1', '3/2', '5/3'])}\nversion: {seed}\n"
        f"under: {dice.choice(['none', '{double-bass: riff}', '{guitar: [comp, riff]}'])}\n"
        f"players:\n{PLAYERS}"
    )
    below = "".join(f"  {name}: {text}\n" for name, text in lines.items())
    return f"{heading}lines:\n{below}form:\n{''.join(steps)}"


class _Writer:
    """Writes the texts of a piece in one cycle."""

    def __init__(self, dice: random.Random, beats: list[Fraction]) -> None:
        self.dice = dice
        self.accents = False
        """Whether the head has accents to hit."""
        self.cells = [one for beat in beats for one in ([1] * int(beat) if beat >= 1 else [beat])]

    def melody(self, cycles: int) -> str:
        rows = []
        for _ in range(cycles):
            cells = [self._melody_cell() for _ in self.cells]
            cells[0] = "S" + cells[0].strip("-z")
            if self.dice.random() < 0.6:
                at = self.dice.randrange(1, len(cells) - 2)
                cells[at], cells[at + 1] = "(P", "m)"
            rows.append(self._row(cells))
        return " ".join(rows)

    def _melody_cell(self) -> str:
        marks = ["", "", "", "!accent!", "!cresc!", "!dim!", "!cut!", "!p!", '!\\"hush, now\\"!']
        tones = ["S", "R", "G", "m", "P", "d", "n", "-", "z", "{R}G", "S~P"]
        count = self.dice.choice([1, 1, 1, 2, 2, 2, 3, 4])
        first = self.dice.choice(marks) + self.dice.choice(tones[:7])
        return first + "".join(self.dice.choice(tones[:9]) for _ in range(count - 1))

    def figures(self) -> str:
        cells = [self.dice.choice(["S", "z", "-P", "SP", "z", "z"]) for _ in self.cells]
        return self._row(["S", *cells[1:]])

    def chords(self) -> str:
        cells = [self.dice.choice(["-", "-", "z", self._chord()]) for _ in self.cells]
        return self._row([self._chord(), *cells[1:]])

    def _chord(self) -> str:
        bass = self.dice.choice(["", "", "", "/G"])
        return self.dice.choice("CDEFGAB") + self.dice.choice(QUALITIES) + bass

    def kit(self) -> str:
        choices = ["k+h", "h", "s+hh", "-", "r", "k+rb", "x", "{s}s", "tm", "!accent!c+k", "o", "f"]
        cells = [self.dice.choice(choices) for _ in self.cells]
        return self._row(["k", *cells[1:]])

    def words(self) -> str:
        return " ".join(
            self.dice.choice(["low", "wa-ter", "rise", "*", "o-ver_"]) for _ in range(9)
        )

    def _row(self, cells: list[str]) -> str:
        """Cells with a last one of half a beat where the cycle has half beats."""
        short = any(length != 1 for length in self.cells)
        return " ".join(
            [*cells[:-1], "S/2"]
            if short and "S" in cells[0]
            else ([*cells[:-1], "-/2"] if short else cells)
        )

    def step(self) -> str:
        dice = self.dice
        verb = dice.choice([
            "play: head, times: 2", "play: {flute: head, alto-sax: low, piano: comp}",
            "play: {trombone: echo, drum-kit: groove, double-bass: riff}", "play: comp",
            "solo: alto-sax, cycles: 3, over: comp, by: [piano, double-bass]",
            "solo: tabla, cycles: 2, over: riff, on-cue: true", "groove: 2", "play: call",
            "trade: [flute, drum-kit], cycles: 1, times: 2", "free: riff, seconds: 7",
        ])  # fmt: skip
        kind = verb.split(":")[0]
        extras = [
            "note: brushes", "note: {drum-kit: sticks, flute: 'in the air'}", "swing: 3/1",
            "swing: 1/1", "break: page", "break: system", "dynamics: mp", "tonic: A",
        ]  # fmt: skip
        if kind != "free":
            extras += [
                "hits: figures", "hits: {line: figures, by: [drum-kit, piano], stop: true}",
                "fermata: true", "fermata: 3 1/2", "tempo: {to: 90}",
                "under: none", "under: {double-bass: across, drum-kit: groove}",
                "under: {piano: comp, trombone: riff, guitar: none}", "under: {tabla: call}",
            ]  # fmt: skip
        if kind == "play":
            extras += ["octave: {flute: -1}", "octave: {trombone: 1}"] if "head" in verb else []
            extras += ["hits: accents"] if "head" in verb and self.accents else []
        chosen = {one.split(":")[0]: one for one in dice.sample(extras, dice.randint(0, 5))}
        return "{" + ", ".join([verb, *chosen.values()]) + "}"


HOSTILE: list[Any] = [
    "", " ", "none", "~", "true", "-1", "0", "1/0", "nan", "1e999", "9" * 400, "-7/3", "x" * 3000,
    "\u202e\u0007\u0000S", "<b>&amp;</b>", "]]>", "#typst[1]", "$x$", "\\", "'", '"', "\U0001f3ba",
    "head", "nobody", "riff", "flute", "2/1", "S R G", "k+s+x+c+r+h", "Dm7/////", "!\"<b>\"!S",
    [], {}, [[]], [[["head"]]], ["head"] * 100, ["head", {"line": "riff"}], {"flute": {}},
    {"flute": []}, {"flute": "head"}, {"nobody": "head"}, {"": ""}, {"line": "figures"},
    {"line": [], "by": {}}, {"by": "flute"}, {"to": "x"}, {"stop": "true"}, {"a": {"b": {"c": []}}},
    {"drum-kit": "figures", "tanpura": "riff"}, ["C7", "", {}],
]  # fmt: skip
"""Values that stand where something else belongs."""
KEYS = (
    "under", "hits", "note", "swing", "octave", "fermata", "chords", "kit", "rhythm", "from",
    "part", "move", "turned", "reversed", "speed", "mode", "words", "reads", "break", "version",
    "date", "eduppu", "lands", "over", "by", "play", "solo", "trade", "free", "seconds", "times",
)  # fmt: skip
"""Keys that are put in anywhere."""


def spoiled(text: str, seed: int, *, mildly: bool = False) -> str:
    """A piece with one to three values replaced, keys added, texts cut or mixed; ``mildly``: texts
    alone, so that many of them can still be read."""
    dice = random.Random(seed)
    data = yaml.load(text, yaml.BaseLoader)
    for _ in range(1 if mildly else dice.randint(1, 3)):
        places = list(_places(data["lines"] if mildly else data))
        holder, key = dice.choice([one for one in places if not mildly or " " in one[0][one[1]]])
        kind = 0.7 if mildly else dice.random()
        if kind < 0.6 or not isinstance(holder[key], str):
            holder[key] = copy.deepcopy(dice.choice(HOSTILE))
        elif kind < 0.9:
            holder[key] = _mixed(dice, holder[key], dice.randint(1, 2 if mildly else 5))
        if isinstance(holder, dict) and not mildly and dice.random() < 0.4:
            holder[dice.choice(KEYS)] = copy.deepcopy(dice.choice(HOSTILE))
    return str(yaml.dump(data, allow_unicode=True, sort_keys=False, width=10_000))


def _mixed(dice: random.Random, text: str, times: int) -> str:
    """A text with signs cut out, doubled or put in."""
    signs = list(text)
    for _ in range(times):
        at = dice.randrange(len(signs) + 1)
        signs[at : at + dice.randint(0, 3)] = dice.choice(
            ["(", ")", "!", '!"<i>&"!', "[", "]x2", "/", "/0", "+", "-", "z", "{", "}", "*9", "~",
             "\u0301", "|", ".", "!cresc!", "!cut!", "S'''", "k+", "Dm7", "\n", "_", "--", "\u0007"]
        )  # fmt: skip
    return "".join(signs)


def _places(data: Any) -> Iterator[tuple[Any, Any]]:
    """Yield every value of a document as (what holds it, under which key)."""
    pairs = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in list(pairs):
        yield data, key
        if isinstance(value, dict | list):
            yield from _places(value)
