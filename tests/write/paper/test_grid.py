"""The page in the trade's handwritten grid: all notes stand on it, beat under beat, within it."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from functools import partial
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from PIL import Image
from support.making import DEMO_BOOK, ROOT, load_text, piece_of, random_changing_piece, random_piece

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import load
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SOLFA16
from cyclechart.write.files.paper_sizes import A4, PAPERS
from cyclechart.write.musicxml.tone_names import NAMES, sixteen_names
from cyclechart.write.paper.grid import grid_data, set_grid
from cyclechart.write.paper.pdf_binding import page_count
from cyclechart.write.paper.typesetting import PNG_PPI

SIDE = 12
"""Millimetres at each side that stay white."""


class Letter(NamedTuple):
    """A character of a PDF: its origin and its box in points from the page's lower left."""

    text: str
    x: float
    y: float
    box: tuple[float, float, float, float]


def sheet(text: str, **heading: str) -> Sheet:
    """The sheet of a piece."""
    return sheet_of(piece_of(text, **heading))


def line(written: str, **heading: str) -> Sheet:
    """The sheet of a piece of one line."""
    return sheet(f"lines:\n  head: {written}\n", **heading)


def letters_of(pdf: bytes) -> list[list[Letter]]:
    """The characters of each page, in the order in which they are drawn."""
    pdfium = pytest.importorskip("pypdfium2")
    pages = []
    for page in pdfium.PdfDocument(pdf):
        read = page.get_textpage()
        found = []
        for n in range(read.count_chars()):
            text = read.get_text_range(n, 1)
            if not text.strip():
                continue
            loose = read.get_charbox(n, loose=True)
            found.append(Letter(text, loose[0], round(loose[1], 1), read.get_charbox(n)))
        pages.append(found)
    return pages


def rows_of(page: list[Letter]) -> Iterator[tuple[str, list[Letter]]]:
    """The characters of one size at one height, from left to right: as text, and themselves."""
    heights: dict[float, list[Letter]] = {}
    for letter in page:
        heights.setdefault(letter.y, []).append(letter)
    for row in heights.values():
        row.sort(key=lambda letter: letter.x)
        yield "".join(letter.text for letter in row), row


def told(sheet: Sheet, names: str = "sargam") -> list[str]:
    """The letters of each row of the grid as data."""
    return [
        "".join(
            sign["text"] + sign["sub"]
            for cell in row["cells"]
            if cell
            for sign in cell["signs"]
            if sign["kind"] == "note"
        )
        for strain in grid_data(sheet, A4, names)["strains"]
        for row in strain["rows"]
    ]


def test_the_same_beat_of_every_cycle_stands_at_the_same_place() -> None:
    text = "S R G m P d n P m G || S SR G m Pdn d n P m G || S R G {R}m P d n P mGRS G || S"
    pages = letters_of(set_grid(line(f'{{sargam: "{text}"}}'), "pdf")[0])
    rows = dict(rows_of(pages[0]))
    plain = [letter.x for letter in rows["SRGmPdnPmG"]]
    assert all(one < other for one, other in pairwise(plain))
    quick = [letter.x for letter in rows["SSRGmPdndnPmG"]]
    beats = [0, 1, 3, 4, 5, 8, 9, 10, 11, 12]
    assert [quick[n] for n in beats] == pytest.approx(plain, abs=0.05)
    numbers = [letter.x for letter in rows["12345678910"]][:9]
    assert numbers == pytest.approx(plain[:9], abs=0.05)


def test_notes_stand_at_their_share_of_the_beat() -> None:
    # Four notes at 7/4 in a beat of sixteen parts begin at 1/28 of a beat and its multiples.
    text = "[SRGmPdnSRGmPdnSR SRGmPdnSRGmPdnSR]x7/4 -/2 -/4 -/8 - - - - - - - - || S"
    pages = letters_of(set_grid(line(f'{{sargam: "{text}"}}'), "pdf")[0])
    notes = "SRGmPdnSRGmPdnSR" * 2
    said, row = next((said, row) for said, row in rows_of(pages[0]) if notes[:28] in said)
    first = said.index(notes[:28])
    steps = [other.x - one.x for one, other in pairwise(row[first : first + 28])]
    assert steps == pytest.approx([steps[0]] * 27, abs=0.05)


@pytest.mark.parametrize(
    ("path", "names"),
    [
        *(pytest.param(path, "sargam", id=path.stem) for path in DEMO_BOOK),
        *(pytest.param(DEMO_BOOK[0], names, id=names) for names in NAMES if names != "sargam"),
    ],
)
def test_every_note_of_the_demo_book_is_on_the_page(path: Path, names: str) -> None:
    piece = load_text(path.read_bytes(), path.parent).piece
    assert piece is not None
    made = sheet_of(piece)
    (pdf,) = set_grid(made, "pdf", names=names)
    drawn = "".join(letter.text for page in letters_of(pdf) for letter in page)
    data = grid_data(made, A4, names)
    # A slash without a symbol of its own is a cell in which the chord goes on.
    written = [
        note
        for strain in made.strains
        for note in strain.notes
        if not isinstance(note, PartNote) or note.head != "slash" or note.chord is not None
    ]
    assert len(written) == sum(
        sign["kind"] == "note"
        for strain in data["strains"]
        for row in strain["rows"]
        for cell in row["cells"]
        if cell
        for sign in cell["signs"]
    )
    at = drawn.index(data["legend"][-1][1].replace(" ", ""))
    for row in told(made, names):
        # Letter for letter, in their order: a long row is broken, with its beats between.
        for letter in row:
            at = drawn.index(letter, at) + 1


def made_at_random(make: Callable[[int], str], seed: int) -> Sheet:
    """The sheet of a random piece."""
    return sheet(make(seed))


HARD: dict[str, Callable[[], Sheet]] = {
    "a long title": lambda: line('{sargam: "S || S"}', title="x" * 300, composer="ab " * 99),
    "one beat": lambda: line('{sargam: "S R G m SRGm S"}', cycle="{beats: 1}"),
    "29": lambda: line('{sargam: "(S R G m)*7 P || S"}', cycle="{beats: 29}"),
    "128": lambda: line(
        '{sargam: "S R G m || S"}', cycle=f"{{beats: 128, sections: [{'16, ' * 8}]}}"
    ),
    "halves": lambda: line(
        '{sargam: "S R SRGm P n S d d P m R S/2 || S"}',
        cycle="{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}",
    ),
    "dense": lambda: line("{sargam: \"(SRGmPdnS'SRGmPdnS')*10 || S\"}"),
    "odd": lambda: line('{sargam: "[[SRGmPdnSR S]x7/4 SRG S]x9/8 [S R G]x5/3 m S"}'),
    "syllables": lambda: line('{strokes: "(dhatirakitatirakita tirakita)*10 dha"}'),
    "verses": lambda: sheet(
        "lines:\n  head:\n    sargam: SR GmP | m G/2 || S RGmP\n"
        '    words: ["long-shore-men lan-terns wa-ters", "strength through * depths and drowned"]\n'
    ),
    "words": lambda: sheet(
        'lines:\n  head:\n    sargam: "SRGm P d n S R G m P d || S"\n'
        '    words: "longshore- men lanterns wa- ter- ways and so on and on"\n'
    ),
    "all it wears": lambda: line(
        "{sargam: \"{SRG}S~R !andolan!!pp!{R}G !gamak!m S'''~S,,, !fermata!P - z S-RG - - || S\"}"
    ),
    "long names": lambda: sheet(
        f"lines:\n  {'sluice' * 10}: {{begins: 8, sargam: 'G m P || S'}}\n"
        f"  {'lock gate ' * 6}: {{begins: 8, sargam: 'G m P || S'}}\n"
    ),
    "a long way up": lambda: line(
        '{sargam: "S || S"}',
        mode=f"{{name: Weir, ascent: {'S G R m ' * 15} S', descent: S' n d P m G R S}}",
    ),
    "a long theka": lambda: line(
        '{sargam: "S || S"}',
        cycle=f"{{name: {'Delta' * 20}, beats: 16, strokes: {'dhagetirakita ' * 16}}}",
    ),
    "a long mode": lambda: line(
        '{sargam: "S || S"}',
        mode=f"{{name: {'Delta' * 20}, ascent: S R G m P d n S', descent: S' n d P m G R S}}",
    ),
}
RANDOM: dict[str, Callable[[], Sheet]] = {
    f"{make.__name__} {seed}": partial(made_at_random, make, seed)
    for make, seeds in ((random_piece, (8, 15, 18)), (random_changing_piece, (15, 24)))
    for seed in seeds
}
"""Random pieces of few rows that have between them all that longer ones have on a grid."""


@pytest.mark.parametrize(
    ("make", "paper"),
    [
        *(
            pytest.param(make, paper, id=f"{name}-{paper}")
            for name, make in HARD.items()
            for paper in ("a4", "tablet", "stage")  # a letter is as wide as A4, within 6 mm
        ),
        *(
            pytest.param(make, paper, id=f"{name}-{paper}")
            for name, make in RANDOM.items()
            for paper in ("tablet", "stage")
        ),
    ],
)
def test_nothing_leaves_the_page(make: Callable[[], Sheet], paper: str) -> None:
    size = PAPERS[paper]
    for data in set_grid(make(), "png", size):
        page = Image.open(io.BytesIO(data)).convert("L")
        edge = round(SIDE * PNG_PPI / 25.4)
        foot = round(4 * PNG_PPI / 25.4)
        assert page.width == pytest.approx(size.width * PNG_PPI / 25.4, abs=1)
        for box in (
            (0, 0, edge, page.height),
            (page.width - edge, 0, page.width, page.height),
            (0, page.height - foot, page.width, page.height),
        ):
            assert page.crop(box).getextrema()[0] == 255


@pytest.mark.parametrize(
    ("make", "names"),
    [
        *(
            pytest.param(make, names, id=f"{name}-{names}")
            for name, make in HARD.items()
            for names in ("sargam", "solfa16")
        ),
        *(pytest.param(make, "solfa16", id=name) for name, make in RANDOM.items()),
    ],
)
def test_no_letter_stands_on_another(make: Callable[[], Sheet], names: str) -> None:
    for page in letters_of(set_grid(make(), "pdf", names=names)[0]):
        by_height = sorted(page, key=lambda letter: letter.box[1])
        for n, one in enumerate(by_height):
            for other in by_height[n + 1 :]:
                if other.box[1] >= one.box[3]:
                    break
                if one.box == other.box:  # letters of one ligature
                    continue
                wide = min(one.box[2], other.box[2]) - max(one.box[0], other.box[0])
                high = min(one.box[3], other.box[3]) - max(one.box[1], other.box[1])
                # The curl of an italic f reaches so far over its neighbours.
                assert min(wide, high) < 1.2, (one, other)


def spans_at(made: Sheet) -> Iterator[list[dict[str, Any]]]:
    """The brackets of each row."""
    for strain in grid_data(made, A4, "sargam")["strains"]:
        for row in strain["rows"]:
            yield [span for span in row["spans"] if span["kind"] != "glide"]


@pytest.mark.parametrize("make", RANDOM.values(), ids=RANDOM)
def test_brackets_of_one_level_stand_side_by_side(make: Callable[[], Sheet]) -> None:
    for spans in spans_at(make()):
        begun = [span["from"] or (-1, 0) for span in spans]
        assert begun == sorted(begun)
        for one, other in combinations(spans, 2):
            if one["level"] == other["level"]:
                first, second = sorted((one, other), key=lambda span: span["from"] or (-1, 0))
                assert first["to"] is not None and second["from"] is not None
                assert first["to"] < second["from"]


def test_the_label_of_a_bracket_stands_over_its_first_note() -> None:
    made = line('{sargam: "[S R G m P d]dugun n S [P d n]x3/2 P m G || S"}')
    rows = dict(rows_of(letters_of(set_grid(made, "pdf")[0])[0]))
    notes, labels = rows["SRGmPdnSPdnPmG"], rows["×2dugun×3/2"]
    assert labels[0].x == pytest.approx(notes[0].x, abs=1)
    assert labels[7].x == pytest.approx(notes[8].x, abs=1)


def test_statements_are_bracketed_over_the_rows() -> None:
    made = line('{cadence: {sargam: "S R G m P d n S", gap: 1, begins: 1}}', cycle="{beats: 13}")
    labels = [[span["label"] for span in spans] for spans in spans_at(made)]
    assert labels[0][0] == "×3, gap 1"
    goes_on = [span for spans in spans_at(made) for span in spans if span["to"] is None]
    assert goes_on and all(span["from"] is not None for span in goes_on)


def test_decorations_octaves_and_words_are_in_the_data() -> None:
    made = sheet(
        "lines:\n  head:\n    sargam: \"{GR}S'' !andolan!r, !ff!g - || S\"\n"
        '    words: "tide- _ out"\n'
    )
    row = grid_data(made, A4, "sargam")["strains"][0]["rows"][0]
    high, low, loud = (cell["signs"][0] for cell in row["cells"][:3])
    assert (high["text"], high["octave"], high["word"]) == ("S", 2, "tide-")
    assert [tone["text"] for tone in high["grace"]] == ["G", "R"]
    assert (low["text"], low["octave"], low["word"]) == ("r", -1, "–")
    assert low["marks"] == [{"text": "∿", "loud": False}]
    assert loud["marks"] == [{"text": "ff", "loud": True}]


def test_the_legend_has_the_signs_in_use_and_no_others() -> None:
    def legend(written: str) -> set[str]:
        return {drawn for drawn, *_ in grid_data(line(written), A4, "sargam")["legend"]}

    plain = {"×", "0", "2 3 …"}
    assert legend('{sargam: "S R G m P d n d P m"}') == plain
    assert legend('{sargam: "S - R~G z P, d n d P m"}') == plain | {
        "hold", "rest", "beat", "glide", "low",
    }  # fmt: skip


def test_a_short_column_has_its_beat_and_apart_from_it_how_long_it_lasts() -> None:
    # Beat 10 lasts half a beat, and the next section begins on 10 1/2.
    made = line(
        '{sargam: "S R G | m P d | n S\' n d/2 | P m"}',
        cycle="{beats: 11 1/2, sections: [3, 3, 3 1/2, 2], stressed: [1]}",
    )
    data = grid_data(made, A4, "sargam")
    for held in (data["thekas"][0], data["strains"][0]):
        labels = [(column["beat"], column["part"]) for column in held["columns"]]
        assert labels[8:] == [("9", ""), ("10", "½"), ("10 1/2", ""), ("11 1/2", "")]
    assert ["lasts", "a column of half a beat", "½"] in data["legend"]
    # The frame around it parts it from the number.
    (page, *_) = letters_of(b"".join(set_grid(made, "pdf")))
    signs = [letter for letter in page if letter.text == "½"]
    theka, _legend, strain = signs
    for sign in (theka, strain):
        before = page[page.index(sign) - 1]
        assert before.text == "0" and sign.box[0] - before.box[2] > 2


def test_a_column_of_another_length_says_it_in_figures() -> None:
    made = line('{sargam: "S R/8"}', cycle="{beats: 1 1/8, sections: [1 1/8], stressed: [1]}")
    legend = grid_data(made, A4, "sargam")["legend"]
    assert ["lasts", "a column of 1/8 of a beat", "1/8"] in legend


@pytest.mark.parametrize(("number", "names"), [
    (1, "S R1 G1 M1 P D1 N1"),
    (8, "S R1 G2 M1 P D1 N2"),
    (22, "S R2 G2 M1 P D2 N2"),
    (29, "S R2 G3 M1 P D2 N3"),
    (36, "S R3 G3 M1 P D3 N3"),
    (39, "S R1 G1 M2 P D1 N3"),
])  # fmt: skip
def test_the_sixteen_names_are_those_of_the_72_scales(number: int, names: str) -> None:
    tones = tuple(SOLFA16[name] for name in names.split())
    table = sixteen_names(Mode(name="a scale", ascent=tones, descent=tones[::-1]))
    assert [table[tone] for tone in tones] == names.split()


def test_texts_are_never_markup_and_the_bytes_are_the_same() -> None:
    made = line('{sargam: "S || S"}', title='"#panic() *a* $b$ <c> @d \\\\ [e]"')
    assert set_grid(made, "pdf") == set_grid(made, "pdf")
    drawn = "".join(letter.text for letter in letters_of(set_grid(made, "pdf")[0])[0])
    assert "#panic()*a*$b$<c>@d" in drawn


def test_an_unknown_script_is_refused_with_the_known_ones() -> None:
    made = line('{sargam: "S || S"}')
    with pytest.raises(ValueError, match="sargam, letters, degrees, solfa16"):
        set_grid(made, "pdf", names="staff")


def test_a_mode_of_a_step_without_a_line_is_in_the_heading() -> None:
    text = (
        "lines: {head: {lands: free, sargam: S R G P}}\nplayers: {flute: melody}\n"
        "form: [{play: head}, {solo: flute, cycles: 2, mode: desh}, {play: head, mode: bhupali}]\n"
    )
    data = grid_data(sheet_of(piece_of(text, mode="bhupali")), A4, "sargam")
    assert [mode["name"] for mode in data["modes"]] == ["Bhupali", "Desh"]


def test_a_grid_is_drawn_smaller_where_that_saves_a_page() -> None:
    piece = load(ROOT / "pieces" / "two-tides.yaml").piece
    assert piece is not None
    sheet = sheet_of(piece)
    assert page_count(set_grid(sheet, "pdf")[0]) == len(set_grid(sheet, "png")) == 1


@pytest.mark.parametrize(
    ("rhythm", "cells"),
    [
        ("own", ["Dm7", "–", "G/B A♭7", "–", "B♭maj7", "–", "F♯m7♭5", "z"]),
        ("written", ["Dm7", "–", "G/B A♭7", "–", "B♭maj7", "–", "F♯m7♭5", "z"]),
    ],
)
def test_chords_stand_in_the_cells_as_symbols(rhythm: str, cells: list[str]) -> None:
    found = sheet(
        f"lines:\n  comp: {{chords: 'Dm7 - G/B.Ab7 - | Bbmaj7 - F#m7b5 z', rhythm: {rhythm}}}\n",
        cycle="keherwa",
    )
    strain = grid_data(found, A4, "sargam")["strains"][0]
    signs = {"hold": "–", "rest": "z"}
    row = [
        " ".join(signs.get(sign["kind"], sign.get("text", "")) for sign in cell["signs"])
        for cell in strain["rows"][0]["cells"]
    ]
    assert row == cells


def test_every_verse_stands_under_the_letters() -> None:
    made = sheet(
        "lines:\n  head:\n    sargam: S R G m\n"
        '    words: ["one lit-tle lamp", "two lit-_ *", "* * * sea"]\n'
    )
    row = grid_data(made, A4, "sargam")["strains"][0]["rows"][0]
    signs = [sign for cell in row["cells"] if cell for sign in cell["signs"] if "word" in sign]
    assert [(sign["word"], *sign.get("verses", ())) for sign in signs] == [
        ("one", "two"), ("lit-", "lit-"), ("tle", "–"), ("lamp", "", "sea"),
    ]  # fmt: skip
