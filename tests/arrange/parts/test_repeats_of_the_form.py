"""Repeats follow the form: times of a step, lines, turns of trading; rests in them are counted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from support.bands import STAND_SEEDS, band_of, every_piece, parts_of, random_stand_form, read
from support.making import piece_of

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.repeats import WrittenBar, bars_in_order
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.piece.player import Player

BAND = (
    "players:\n  trumpet: {plays: melody}\n  viola: {plays: melody}\n  guitar: {plays: voicings}\n"
    "  double-bass: {plays: pedal}\n  tabla: {plays: theka}\n  drum-kit: {plays: theka}\n"
)
CELLS = "S R G m P d n S' "
CYCLES = "".join(" ".join(CELLS.split()[at:] + CELLS.split()[:at]) + " " for at in range(6))
"""Six cycles, no two alike."""
LINES = (
    "lines:\n"
    f'  head: {{sargam: "{CYCLES}n d P m G R S z"}}\n'
    f'  vamp: {{sargam: "{CELLS}"}}\n'
    f'  led: {{begins: 7, sargam: "n d {CELLS * 2}"}}\n'
)


def sheets_of(form: str) -> dict[str, Sheet]:
    piece = piece_of(f"{BAND}{LINES}form:\n{form}", cycle="keherwa")
    band = Band(piece)
    return {player.name: part_sheet(band, player) for player in piece.players}


def outline(strain: Strain) -> str:
    """A strain as a reader counts it: ``x4`` a repeated cycle, ``r3`` rests, ``1`` a cycle;
    repeats of several in brackets, ``|`` for a double bar, endings with their times."""
    text = ""
    for measure in strain.measures:
        if not measure.opens and not measure.rests:
            text += f"]x{measure.times} " if measure.times else ""
            text += "| " if measure.ends_time else ""
            continue
        text += "[" if measure.forward else ""
        if measure.ending:
            text += f"({measure.ending[0]}-{measure.ending[-1]})"
        text += f"r{measure.rests} " if measure.rests else "1 "
        text += f"]x{measure.times} " if measure.times else ""
        text += "| " if measure.ends_time else ""
    return text.replace(" ]", "]").strip()


def repeats_in(written: Sequence[WrittenBar]) -> Iterator[tuple[int, int, int]]:
    """Yield (first bar, bars played in one time, times) of each repeat."""
    at = 0
    while at < len(written):
        if not written[at].repeat_start:
            at += 1
            continue
        until = next(end for end in range(at, len(written)) if written[end].times)
        body = written[at : until + 1]
        size = sum(max(1, bar.rests) for bar in body)
        yield written[at].at, size, written[until].times
        at = until + 1


def written_passages(band: Band) -> Iterator[tuple[Player, list[Bar], list[WrittenBar]]]:
    """Each metered passage as each player but the drone has it: its bars,
    and those that are written."""
    for passage in band.passages:
        bars = [bar for bar in passage.bars if bar.stretch.kind == "metered"]
        if not bars or passage.step < 0 or passage.free:
            continue
        first = band.bars.index(bars[0])
        for player in band.piece.players:
            if player.plays != "drone":
                yield player, bars, band.part_bars(player.name, first, len(bars))


def check_repeats(band: Band) -> None:
    """Every repeat of every part lies within one time of its step, or repeats whole times; so with
    the turns of a trade."""
    for player, bars, written in written_passages(band):
        assert list(bars_in_order(written)) and len(list(bars_in_order(written))) == len(bars)
        for at, size, times in repeats_in(written):
            spanned = bars[at : at + size * times]
            starts = bars[at : at + size * times : size]
            before = [bars[at + n * size - 1] for n in range(1, times)]
            if len({bar.stretch.turn for bar in spanned}) > 1:
                for last, bar in zip(before, starts[1:], strict=True):
                    assert last.stretch.turn != bar.stretch.turn, player.name
            elif len({bar.stretch.start for bar in spanned}) > 1:
                for last, bar in zip(before, starts[1:], strict=True):
                    assert last.stretch.start != bar.stretch.start, player.name


@every_piece
def test_a_repeat_never_goes_beyond_a_time_or_a_turn(name: str) -> None:
    check_repeats(band_of(name))


def test_so_in_any_form() -> None:
    for seed in range(30, 42):
        check_repeats(Band(read(random_stand_form(seed))))


@every_piece
def test_words_over_a_repeat_are_those_of_all_that_is_played_in_it(name: str) -> None:
    # Slashes of a player's own turn and of time they keep never stand in one repeated bar.
    band = band_of(name)
    for player, bars, written in written_passages(band):
        shown = {played: bar.at for bar in written for played in
                 range(bar.at, bar.at + max(1, bar.rests))}  # fmt: skip
        for at, read_at in enumerate(bars_in_order(written)):
            here, there = bars[at].stretch, bars[shown[read_at]].stretch
            mine = player.name in here.soloists, player.name in there.soloists
            assert mine[0] == mine[1], (player.name, bars[at].number)


def test_rests_in_a_part_are_never_written_out() -> None:
    # Gould, Behind Bars, "Multi-bar rests" (from memory): consecutive bars of rest are one.
    for seed in STAND_SEEDS:
        for sheet in parts_of(f"stand-{seed}").values():
            for strain in sheet.strains:
                if strain.free or not strain.notes or strain.kind != "melody":
                    continue
                empty = 0
                for measure in strain.measures:
                    if measure.rests:
                        empty = 0
                        continue
                    sounding = any(
                        note.start < measure.end and note.end > measure.start
                        for note in strain.notes
                    )
                    empty = 0 if sounding else empty + measure.length
                    assert empty <= 2 * strain.cycle.beats, (strain.letter, measure.cycle)


def test_a_drummer_reads_whose_turn_it_is() -> None:
    form = "  - {trade: [trumpet, drum-kit, viola, drum-kit], cycles: 4}\n  - groove: 1\n"
    sheet = sheets_of(form)["drum-kit"]
    strain = sheet.strains[0]
    assert outline(strain) == "[1]x4 [1]x4 [1]x4 [1]x4"
    texts = [(note.start / 8, getattr(note, "text", "")) for note in strain.notes]
    assert [(at, text) for at, text in texts if text] == [
        (0, "time (trumpet)"), (1, "solo"), (2, "time (viola)"), (3, "solo"),
    ]  # fmt: skip
    # A horn has its own turn, then rests that are counted.
    assert outline(sheets_of(form)["trumpet"].strains[0]) == "[1]x4 r12"


def test_a_bass_goes_on_with_time_after_its_turn() -> None:
    form = "  - {trade: [trumpet, double-bass, viola], cycles: 2}\n  - groove: 1\n"
    notes = sheets_of(form)["double-bass"].strains[0].notes
    texts = [(note.start / 8, getattr(note, "text", "")) for note in notes]
    assert [(at, text) for at, text in texts if text] == [(2, "solo"), (4, "time (viola)")]


def test_rests_stand_inside_a_repeat_where_that_is_shorter() -> None:
    form = "  - {trade: [trumpet, viola], cycles: 8, times: 2}\n  - groove: 1\n"
    assert outline(sheets_of(form)["viola"].strains[0]) == "r8 [1]x8 r8 [1]x8"
    form = "  - {trade: [trumpet, viola], cycles: 2, times: 8}\n  - groove: 1\n"
    assert outline(sheets_of(form)["viola"].strains[0]) == "[r2 1 1]x8"


def test_seven_and_seven_can_be_seen() -> None:
    sheets = sheets_of("  - {play: head, by: [trumpet], times: 2}\n")
    assert outline(sheets["drum-kit"].strains[0]) in ("[1]x7 [1]x7", "[1 1 1 1 1 1 1]x2")
    solo = "  - {solo: viola, over: head, by: [trumpet], cycles: 14}\n  - groove: 1\n"
    assert outline(sheets_of(solo)["drum-kit"].strains[0]).count("x7") == 2


def test_a_last_time_that_leads_on_is_written_after_the_repeat() -> None:
    form = "  - {play: vamp, by: [viola], times: 8}\n  - {play: led, by: [viola]}\n"
    assert outline(sheets_of(form)["viola"].strains[0]) == "[1]x7 1"


def test_a_long_line_that_leads_on_has_endings() -> None:
    form = "  - {play: head, by: [viola], times: 3}\n  - {play: led, by: [viola]}\n"
    assert outline(sheets_of(form)["viola"].strains[0]) == "[1 1 1 1 1 1 (1-2)1]x3 (3-3)1"
