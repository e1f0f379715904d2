"""Cards, tables and reports of the terminal as golden text."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from support.dense import dense_piece
from support.goldens import check_golden
from support.making import ROOT, load_text

from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Place, Spot, Suggestion
from cyclechart.piece.load import load
from cyclechart.text.source import Source
from cyclechart.theory.cadence import Question, Statement, solve
from cyclechart.theory.drill import drills
from cyclechart.theory.spelling import TONICS, Tonic
from cyclechart.write.reports.json_report import as_json
from cyclechart.write.terminal.cadence_summary import as_text as cadences_as_text
from cyclechart.write.terminal.cadence_table import as_objects, as_table
from cyclechart.write.terminal.cards import look_up, of_piece
from cyclechart.write.terminal.drill_yaml import as_piece
from cyclechart.write.terminal.findings import as_text, summary

LIBRARY = Library.beside(None)
NAMES = (
    ("bhimpalasi", "Eb"), ("marwa", "F#"), ("bhairavi", "C"), ("charukeshi", "G#"),
    ("hamsadhwani", "Cb"), ("yaman", "D"), ("jhaptal", "C"), ("tintal", "C"),
    ("sankirna-gati-sankirna-jati-eka", "C"), ("khanda-jati-dhruva", "C"), ("misra-chapu", "C"),
    ("dhamar", "C"), ("adi", "C"), ("dha tirakita dhina", "C"), ("dhage.tina kata gadigana", "C"),
    ("takadimi tadhit", "C"), ("ghe tirakitataka", "C"), ("kitataka-", "C"), ("nosuchname", "C"),
)  # fmt: skip
HALF = Fraction(1, 2)
QUESTIONS = {
    "three times": Question(Statement.of_beats(Fraction(5)), 3, within=4),
    "with a gap": Question(Statement.of_beats(Fraction(7, 2)), 3, gap=HALF, within=4),
    "from a beat": Question(Statement.of_beats(Fraction(9, 4)), 3, begins=Fraction(5), within=4),
    "with a body": Question(Statement.of_beats(Fraction(3)), 3, body=Fraction(6), within=4),
    "three rounds": Question(
        Statement.of_beats(Fraction(4)), 3, gap=Fraction(1), rounds=3, within=12
    ),
    "rounds with a gap": Question(
        Statement.of_beats(Fraction(5, 2)), 3, HALF, rounds=3, round_gap=Fraction(2), within=12
    ),
    "growing": Question(Statement.of_beats(Fraction(4)), 3, within=4, step=Fraction(1)),
    "shrinking": Question(Statement.of_beats(Fraction(4)), 3, within=4, step=-HALF),
    "early": Question(Statement.of_beats(Fraction(4)), 3, within=4, early=HALF),
    "once": Question(Statement.of_beats(Fraction(6)), 1, within=2),
}


def tonic_of(letter: str) -> Tonic:
    """A tonic by its letter."""
    return Tonic(letter[0], {"#": 1, "b": -1, "": 0}[letter[1:]])


def test_the_cards_of_names_are_the_golden_ones() -> None:
    blocks = []
    for name, letter in NAMES:
        found = look_up(name, tonic_of(letter), ROOT)
        mode = found.mode.name if found.mode else ""
        blocks.append(f"== {name} on {letter}: {len(found.texts)}, mode {mode}")
        blocks += found.texts
        blocks.append(f"{len(found.known)} names, {[one.rule for one in found.findings]}")
    check_golden("cards.txt", "\n".join(blocks) + "\n")


def test_the_cards_of_pieces_are_the_golden_ones() -> None:
    blocks = []
    for tonic in (None, TONICS[4]):
        for piece in (dense_piece(), load(ROOT / "pieces" / "lock-eleven.yaml").piece):
            assert piece is not None
            found = of_piece(piece, LIBRARY, tonic)
            blocks += [f"== {piece.title}, {tonic}: {found.mode and found.mode.name}"]
            blocks += found.texts
    check_golden("cards-of-pieces.txt", "\n".join(blocks) + "\n")


@pytest.mark.parametrize("form", ["table", "objects"])
def test_the_tables_of_cadences_are_the_golden_ones(form: str) -> None:
    lines = []
    for name in ("tintal", "rupak", "eleven-and-a-half"):
        cycle, _ = Library.beside(ROOT).cycle(name, Spot("", 1, 1))
        assert cycle is not None
        for title, question in QUESTIONS.items():
            answers = solve(question, cycle).found[:12]
            lines.append(f"== {name}: {title}")
            if form == "objects":
                lines += [json.dumps(one, ensure_ascii=False) for one in as_objects(answers[:6])]
            elif answers:
                lines.append(as_table(answers, cycle))
    check_golden(f"cadences-{form}.txt", "\n".join(lines) + "\n")


SUMMARISED = """\
title: Sum
tonic: D
mode: charukeshi
cycle: jhaptal
tempo: 92
lines:
  plain: {sargam: S R G m P d n S' n d}
  tail: {cadence: {sargam: n S G, gap: 1/2}}
  whole: {chain: [plain, tail]}
  bag:
    cadence:
      gap: 1
      cadence: {body: S R G m, sargam: P d n}
form: [play: whole, play: tail, play: bag, {play: bag, cycle: tintal}]
"""


def test_the_report_on_cadences_is_the_golden_one() -> None:
    pieces = [
        load(ROOT / "pieces" / f"{stem}.yaml").piece for stem in ("the-delta-post", "two-tides")
    ]
    said = [load_text(SUMMARISED).piece, dense_piece(), *pieces]
    texts = [cadences_as_text(piece).replace(str(ROOT), "") for piece in said if piece]
    check_golden("cadence-report.txt", "--\n".join(texts))


TEXT = "first\n\tsecond line with a tab and some words\n" + "long " * 60 + "\nlast \x07 bell\n"
TRIES = (Suggestion("one"), Suggestion("two\nof two lines"))
OTHERS = (Suggestion("x"), Suggestion("y"), Suggestion("z"))
FINDINGS = [
    Finding("rule-a", "error", Spot("f.yaml", 1, 1, 5), "MESSAGE", TRIES),
    Finding("rule-b", "warning", Spot("f.yaml", 2, 2, 6), "MESSAGE", place=Place("head", 2, HALF)),
    Finding("rule-c", "advice", Spot("f.yaml", 3, 151, 4), "MESSAGE", place=Place("a", 0, HALF)),
    Finding("rule-d", "advice", Spot("f.yaml", 3, 4, 400), "MESSAGE"),
    Finding("rule-e", "error", Spot("f.yaml", 3, 299, 9), "MESSAGE", TRIES[:1]),
    Finding("rule-f", "warning", Spot("f.yaml", 4, 6, 0), "MESSAGE", OTHERS[:1], liberty="REASON"),
    Finding("rule-g", "warning", Spot("else.yaml", 9, 9, 3), "MESSAGE", OTHERS,
            Place("a", None, Fraction(7, 2))),
]  # fmt: skip


def test_findings_are_the_golden_ones() -> None:
    text = as_text(FINDINGS, {"f.yaml": Source.of("f.yaml", TEXT)})
    for few in (FINDINGS, FINDINGS[:1], FINDINGS[5:6], FINDINGS[5:6] * 2, [], FINDINGS[2:3]):
        text += f"{[summary(few, count) for count in (1, 3)]}\n"
    check_golden("findings.txt", text + as_json(FINDINGS, 2) + "\n")


def test_drills_are_the_golden_ones() -> None:
    text = ""
    for name in ("hamsadhwani", "bhimpalasi"):
        mode, _ = LIBRARY.mode(name, Spot("", 1, 1))
        assert mode is not None
        text += as_piece(
            drills(mode, Fraction(7)),
            title="It's",
            tonic="Eb",
            mode=name,
            cycle="rupak",
            tempo=Fraction(145, 2),
        )
    check_golden("drills.txt", text)


def test_a_table_with_and_without_rounds_is_the_golden_one() -> None:
    cycle, _ = LIBRARY.cycle("tintal", Spot("", 1, 1))
    assert cycle is not None
    asked = ("three times", "three rounds")
    answers = [one for name in asked for one in solve(QUESTIONS[name], cycle).found[:3]]
    check_golden("cadences-mixed.txt", as_table(answers, cycle) + "\n")
