"""The book of a set: its pages are where its contents say, and nothing is drawn twice."""

from __future__ import annotations

import io
import shutil
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, NameObject
from support.gigs import gig

from cyclechart.arrange.set_book import SetBook, TunePage, set_book_of
from cyclechart.piece.set.gig import clock_time, time_of_day
from cyclechart.produce import set_charts as charts
from cyclechart.produce.set_book import WrittenBooks, file_names, write_book
from cyclechart.produce.set_charts import charts_of
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.paper_sizes import A4, PAPERS
from cyclechart.write.paper.book_pages import front_matter

FIVE = "players: {flute: {octave: 1}, guitar: , tabla: , tanpura: , drum-kit: }\n"
THREE = (
    f"{FIVE}pieces: [band.yaml, on-d.yaml, {{break: 10}}, {{piece: drums.yaml, note: lamps out}}]\n"
)


@pytest.fixture(autouse=True)
def _in_this_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test starts processes but the one about them."""
    monkeypatch.setattr(charts, "HANDFUL", 1000)


def book_of(folder: Path, text: str = THREE) -> SetBook:
    return set_book_of(gig(folder, text))


def written(book: SetBook, folder: Path, **more: Any) -> WrittenBooks:
    return write_book(book, folder / "out", "set", **more)


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> WrittenBooks:
    """The books of ``THREE``, written once."""
    folder = tmp_path_factory.mktemp("first")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(charts, "HANDFUL", 1000)
        return written(book_of(folder), folder)


def copied(books: WrittenBooks, folder: Path) -> list[Path]:
    """The books and charts of a run, as if that run had written them in this folder."""
    shutil.copytree(books.files[0].parent, folder / "out")
    return [folder / "out" / path.name for path in books.files]


def outline(reader: PdfReader) -> dict[str, int]:
    """Return the name of each place in the outline, its heading, and its page from 1."""
    found: dict[str, int] = {}

    def walk(items: Sequence[Any], under: str) -> None:
        above = ""
        for item in items:
            if isinstance(item, list):
                walk(item, f"{above}/")
                continue
            above = under + str(item.title)
            page = reader.get_destination_page_number(item)
            assert page is not None
            found[above] = page + 1

    walk(reader.outline, "")
    return found


def contents(reader: PdfReader) -> list[tuple[str, int]]:
    """The lines of the contents that end in a number, with it."""
    at = outline(reader)["Contents"]
    lines = reader.pages[at - 1].extract_text().replace(".", " ").splitlines()
    parted = [line.rsplit(None, 1) for line in lines]
    return [(" ".join(one[0].split()), int(one[1])) for one in parted
            if len(one) == 2 and one[1].isdigit()]  # fmt: skip


def test_contents_outline_links_and_stamped_numbers_agree(first: WrittenBooks) -> None:
    reader = PdfReader(next(path for path in first.files if path.stem == "set-flute"))
    places = outline(reader)
    assert list(places) == ["Set list", "Contents", "Modes", "Cycles", "1 Band", "2 On D",
                            "3 Drums"]  # fmt: skip
    listed = dict(contents(reader))
    assert {name: listed[name] for name in ("1 Band", "2 On D", "3 Drums")} == {
        name: places[name] for name in ("1 Band", "2 On D", "3 Drums")
    }
    for name in ("Band", "On D", "Drums"):
        page = next(at for called, at in places.items() if called.endswith(f" {name}"))
        assert name in reader.pages[page - 1].extract_text()
    for number, page in enumerate(reader.pages[1:], start=2):
        stamp = page["/Resources"]["/XObject"]["/BookNumber"]  # type: ignore[index]
        assert stamp["/Subtype"] == "/Form"
        assert str(number) in page.extract_text().split()
    assert links(reader, places["Contents"]) == list(places.values())


def links(reader: PdfReader, page: int) -> list[int]:
    """To which pages the links of a page lead."""
    found = []
    for held in reader.pages[page - 1]["/Annots"]:  # type: ignore[attr-defined]
        link = held.get_object()
        goal = link["/Dest"] if "/Dest" in link else link["/A"]["/D"]
        found.append(reader.get_page_number(goal[0].get_object()) + 1)
    return found


def test_one_book_a_player_and_one_for_all(first: WrittenBooks) -> None:
    assert [path.name for path in first.files] == [
        "set-flute.pdf", "set-guitar.pdf", "set-tabla.pdf", "set-tanpura.pdf",
        "set-drum-kit.pdf", "set-leader.pdf", "set-grid.pdf", "set-all.pdf",
    ]  # fmt: skip
    everything = PdfReader(first.files[-1])
    places = outline(everything)
    assert [name for name in places if "/" in name] == [
        "1 Band/Lead sheet", "1 Band/Flute", "1 Band/Guitar", "1 Band/Tabla",
        "2 On D/Lead sheet", "2 On D/Flute", "2 On D/Guitar", "2 On D/Tabla",
        "2 On D/Drum Kit", "3 Drums/Lead sheet", "3 Drums/Flute", "3 Drums/Drum Kit",
    ]  # fmt: skip
    for name, page in places.items():
        if "/" in name:
            title = name.split("/")[0][2:]
            assert title in everything.pages[page - 1].extract_text()
    listed = dict(contents(everything))
    assert listed["2 On D"] == places["2 On D"]
    drone = outline(PdfReader(first.files[3]))
    assert list(drone) == ["Set list", "Tuning", "Contents"]


def test_the_leader_has_the_lead_sheets_and_who_reads_no_staff_the_grids(
    first: WrittenBooks,
) -> None:
    by_name = {path.stem: PdfReader(path) for path in first.files}
    for name, whose in (("set-leader", "Leader: Lead Sheets"), ("set-grid", "Grids")):
        reader = by_name[name]
        places = outline(reader)
        tunes = [place for place in places if place[0].isdigit()]
        assert tunes == ["1 Band", "2 On D", "3 Drums"]
        assert whose in reader.pages[0].extract_text()
        for tune in tunes:
            page = reader.pages[places[tune] - 1].extract_text()
            assert tune[2:] in page
            assert "Sa =" in page or name == "set-leader"  # as the grid has it
        assert dict(contents(reader))["2 On D"] == places["2 On D"]


def test_the_leaders_book_has_scores_on_demand(tmp_path: Path) -> None:
    book = book_of(tmp_path, "pieces: [band.yaml]\n")
    made = written(book, tmp_path, leader="score")
    (leader,) = [path for path in made.files if path.stem == "set-leader"]
    page = PdfReader(leader).pages[-1].extract_text()
    assert "Score" in page
    assert "Guitar" in page
    assert written(book, tmp_path, leader="score").drawn == 0


FOOT = "Regatta · version 3"


@pytest.mark.parametrize("paper", ["a4", "tablet"])
def test_a_chart_of_two_pages_opens_on_the_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, paper: str
) -> None:
    pages = {"On D": 2, "Band": 1, "Drums": 2}

    def draw(chart: charts.Chart, _paper: Any) -> bytes:
        writer = PdfWriter()
        for _ in range(pages[chart.sheet.title]):
            page, ink = writer.add_blank_page(100, 150), DecodedStreamObject()
            ink.set_data(b"0 0 m 9 9 l S")
            page[NameObject("/Contents")] = writer._add_object(ink)
        stream = io.BytesIO()
        writer.write(stream)
        return stream.getvalue()

    monkeypatch.setattr(charts, "draw", draw)
    book = replace(book_of(tmp_path), title="Regatta", date="", edition="version 3")
    blanks = 0
    for path in written(book, tmp_path, paper=PAPERS[paper]).files:
        reader = PdfReader(path)
        places = outline(reader)
        tunes = {name: page for name, page in places.items() if name[0].isdigit()}
        if path.stem == "set-all":
            pages_of_charts = sum(pages[name[2:].split("/")[0]] for name in tunes if "/" in name)
        else:
            pages_of_charts = sum(pages[name[2:]] for name in tunes)
            assert tunes.items() <= dict(contents(reader)).items()
            for name, page in tunes.items():
                assert paper == "tablet" or pages[name[2:]] == 1 or page % 2 == 0
        drawn = [page.mediabox.width == 100 for page in reader.pages]
        assert sum(drawn) == pages_of_charts
        after = drawn[drawn.index(True) :] if any(drawn) else []
        assert all(after) or path.stem != "set-all"
        for page in reader.pages[len(drawn) - len(after) :]:
            # A blank page has its foot, and the number laid over it.
            if page.mediabox.width != 100:
                assert page.extract_text().startswith(FOOT)
                assert page.extract_text().removeprefix(FOOT).strip().isdigit()
                blanks += 1
    assert blanks > 0 if paper == "a4" else blanks == 0


def test_a_second_run_draws_nothing_and_has_the_same_bytes(
    first: WrittenBooks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = {path: path.read_bytes() for path in copied(first, tmp_path)}
    drawn = _counted(monkeypatch)
    again = written(book_of(tmp_path), tmp_path)
    assert (first.drawn, again.drawn, drawn) == (15, 0, [])
    assert {path: path.read_bytes() for path in again.files} == before


def _counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    drawn: list[str] = []
    real = charts.draw

    def draw(chart: charts.Chart, paper: Any) -> bytes:
        drawn.append(chart.sheet.title)
        return real(chart, paper)

    monkeypatch.setattr(charts, "draw", draw)
    return drawn


def test_a_changed_piece_draws_its_own_charts_and_the_old_ones_go(
    first: WrittenBooks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = book_of(tmp_path)
    copied(first, tmp_path)
    kept = tmp_path / "out" / ".charts"
    (kept / "notes.txt").write_text("not ours")
    before = {path.name for path in kept.glob("*.pdf")}
    drawn = _counted(monkeypatch)
    second = book.entries[1]
    changed = replace(second, piece=replace(second.piece, composer="The Other Seven"))  # type: ignore[union-attr,arg-type]
    assert written(replace(book, entries=(book.entries[0], changed, *book.entries[2:])),
                   tmp_path).drawn == 6  # fmt: skip
    assert drawn == ["On D"] * 6
    after = {path.name for path in kept.glob("*.pdf")}
    assert len(after) == len(before) == 15
    assert len(after & before) == 9
    assert (kept / "notes.txt").exists()


def test_what_no_font_has_is_told(first: WrittenBooks, tmp_path: Path) -> None:
    book = book_of(tmp_path)
    copied(first, tmp_path)
    assert written(book, tmp_path, players=["tabla"]).sentences == ()
    (sentence,) = written(replace(book, venue="河"), tmp_path, players=["tabla"]).sentences
    assert "河" in sentence


def test_a_torn_chart_is_drawn_again(first: WrittenBooks, tmp_path: Path) -> None:
    book = book_of(tmp_path)
    before = [path.read_bytes() for path in copied(first, tmp_path)]
    torn = next((tmp_path / "out" / ".charts").glob("*.pdf"))
    torn.write_bytes(torn.read_bytes()[:-400])
    again = written(book, tmp_path)
    assert again.drawn == 1
    assert [path.read_bytes() for path in again.files] == before


def test_a_run_that_fails_leaves_the_old_books(
    first: WrittenBooks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = {path: path.read_bytes() for path in copied(first, tmp_path)}
    kept = set((tmp_path / "out" / ".charts").iterdir())

    def fail(*_: Any) -> bytes:
        raise OSError(28, "No space left on device", "somewhere")

    monkeypatch.setattr(charts, "draw", fail)
    with pytest.raises(OSError, match="No space"):
        written(book_of(tmp_path, "pieces: [on-g.yaml]\n"), tmp_path)
    assert {path: path.read_bytes() for path in before} == before
    assert set((tmp_path / "out" / ".charts").iterdir()) == kept


def test_the_key_holds_what_the_chart_shows_and_not_where_it_is_written(tmp_path: Path) -> None:
    (chart, *_) = charts_of(book_of(tmp_path).tunes, A4)
    lower = tmp_path / "elsewhere"
    lower.mkdir()
    tunes = book_of(lower, f"# a line more\n{THREE}").tunes
    (other, *_) = charts_of(tunes, A4)
    assert other.key == chart.key
    assert key_of(chart.sheet, PAPERS["stage"]) != chart.key
    assert key_of(replace(chart.sheet, title="Other"), A4) != chart.key


def test_processes_in_another_folder_draw_the_same(
    first: WrittenBooks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = book_of(tmp_path)
    alone = [path.read_bytes() for path in first.files]
    monkeypatch.setattr(charts, "HANDFUL", 1)
    monkeypatch.setattr(charts, "cores_here", lambda: 2)
    shared = write_book(book, tmp_path / "shared-out", "set")
    assert shared.drawn == 15
    assert [path.read_bytes() for path in shared.files] == alone


HOSTILE = [
    "#set text(red) $x$ *a* @b <c> [d] \\u{41}",
    "../../etc/passwd",
    "‮turned ⁦around",
    "Z͑ͫ̓ͪ̂ͫ̽͏̴̙̤̞͉͚̯̞̠͍A̴̵̜̰͔ͫ͗͢L",
    "a" * 300,
    "नदी का गीत",
    "\ud800 half",
]


@pytest.mark.parametrize("title", HOSTILE)
@pytest.mark.parametrize("paper", PAPERS)
def test_hostile_titles_are_only_texts(tmp_path: Path, title: str, paper: str) -> None:
    book = book_of(tmp_path)
    (first, *rest) = book.entries
    named = replace(first, title=title, note=title[:300], piece=replace(first.piece, title=title))  # type: ignore[union-attr,call-arg]
    book = replace(book, title=title, venue=title, date=title, entries=(named, *rest))
    for reader in (None, "flute", "tanpura"):
        pages = PdfReader(io.BytesIO(front_matter(book, reader, [], PAPERS[paper]))).pages
        assert len(pages) >= 2


def test_who_sits_out_is_told_and_has_no_chart(first: WrittenBooks, tmp_path: Path) -> None:
    copied(first, tmp_path)
    text = "players: quartet\npieces: [{piece: band.yaml, without: [guitar]}, on-d.yaml]\n"
    made = written(book_of(tmp_path, text), tmp_path)
    assert "set-guitar.pdf" in [path.name for path in made.files]
    guitar = PdfReader(next(path for path in made.files if path.stem == "set-guitar"))
    assert "you sit out" in guitar.pages[1].extract_text()
    assert "1 Band" not in outline(guitar)
    flute = PdfReader(next(path for path in made.files if path.stem == "set-flute"))
    assert "without Guitar" in flute.pages[1].extract_text()


def test_who_plays_nothing_has_the_set_list_alone(first: WrittenBooks, tmp_path: Path) -> None:
    copied(first, tmp_path)
    text = "pieces: [{piece: band.yaml, without: [guitar]}, alto.yaml]\n"
    made = written(book_of(tmp_path, text), tmp_path)
    guitar = PdfReader(next(path for path in made.files if path.stem == "set-guitar"))
    assert guitar.pages[1].extract_text().count("you sit out") == 2
    assert list(outline(guitar)) == ["Set list", "Contents"]


def test_who_is_not_at_the_gig_has_no_book(first: WrittenBooks, tmp_path: Path) -> None:
    copied(first, tmp_path)
    text = "players: trio\npieces: [band.yaml, on-d.yaml]\n"
    made = written(book_of(tmp_path, text), tmp_path)
    assert {path.stem for path in made.files} == {
        "set-all",
        "set-leader",
        "set-grid",
        "set-flute",
        "set-tabla",
        "set-tanpura",
    }


def test_a_player_alone(first: WrittenBooks, tmp_path: Path) -> None:
    book = book_of(tmp_path)
    copied(first, tmp_path)
    kept = set((tmp_path / "out" / ".charts").iterdir())
    made = written(book, tmp_path, players=["tabla"])
    assert [path.name for path in made.files] == ["set-tabla.pdf"]
    assert set((tmp_path / "out" / ".charts").iterdir()) == kept


def test_a_set_of_thirty_is_listed_on_one_page(tmp_path: Path) -> None:
    text = f"pieces: [{', '.join(f'on-{name}.yaml' for name in ('d', 'g', 'a') * 10)}]\n"
    front = PdfReader(io.BytesIO(front_matter(book_of(tmp_path, text), "flute", [])))
    places = outline(front)
    assert places["Contents"] - places["Set list"] <= 1


def places_of(pdf: bytes, page: int, *texts: str) -> list[list[tuple[float, ...]]]:
    """Return the boxes of each text on a page: (left, foot, right, head), one a line."""
    read = pypdfium2.PdfDocument(pdf)[page].get_textpage()
    found = []
    for text in texts:
        at = read.search(text, match_case=True).get_next()
        assert at is not None, text
        found.append([read.get_rect(n) for n in range(read.count_rects(*at))])
    return found


@pytest.mark.parametrize("paper", PAPERS)
def test_titles_in_the_set_list_have_room_for_their_words(tmp_path: Path, paper: str) -> None:
    book = book_of(tmp_path, "players: quartet\npieces: [{piece: band.yaml, without: [guitar]}]\n")
    (only,) = book.entries
    named = replace(
        only, title="The Harbourmaster Declines", modes=("Vachaspati", "Bilawal"),  # type: ignore[call-arg]
        cycles=("Seven and Three Quarters",),
    )  # fmt: skip
    book = replace(book, entries=(named,))
    front = front_matter(book, "guitar", [], PAPERS[paper])
    word, sits, mode, cycle = places_of(
        front, 1, "Harbourmaster", "you sit out", "Vachaspati", "Quarters"
    )
    assert len(sits) == 1
    assert max(word[0][2], sits[0][2]) < mode[0][0] < mode[0][2] < cycle[0][0]


_BIG = ((9, 0), (52, 41), (74, 2), (614, 2), (1439, 59))
"""Minutes and seconds: of one digit of minutes to two of hours."""


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("starts", [None, 20 * 60 + 30])
@pytest.mark.parametrize("estimated", [True, False])
def test_the_times_of_the_set_list_stand_apart(
    tmp_path: Path, paper: str, starts: int | None, estimated: bool
) -> None:
    entries = []
    (tune, *_) = book_of(tmp_path, "pieces: [band.yaml]\n").entries
    assert isinstance(tune, TunePage)
    for number, (minutes, seconds) in enumerate(_BIG, start=1):
        time = Fraction(minutes) + Fraction(seconds, 60)
        title = f"The Harbourmaster Declines Number {number}"
        entries.append(replace(tune, number=number, title=title, minutes=time, starts=time,
                               tempo=Fraction(1000), estimated=estimated))  # fmt: skip
    book = replace(book_of(tmp_path), entries=tuple(entries), starts=starts)
    front = front_matter(book, "flute", [], PAPERS[paper])
    page = pypdfium2.PdfDocument(front)[1]
    text, edge = page.get_textpage(), page.get_width()
    for minutes, seconds in _BIG:
        time = Fraction(minutes) + Fraction(seconds, 60)
        takes = clock_time(time) + ("" if estimated else "*")
        begins = clock_time(time) if starts is None else time_of_day(starts + time)
        row = _row_of(text, takes)
        left, right = _row_of(text, begins, row), row
        tempo = _row_of(text, "1000", row)
        assert tempo[2] + 2 < left[0], (begins, takes)
        assert left[2] + 2 < right[0], (begins, takes)
        assert right[2] <= edge - PAPERS[paper].side * 72 / 25.4 + 1


def _row_of(
    text: pypdfium2.PdfTextPage, word: str, row: tuple[float, ...] | None = None
) -> tuple[float, ...]:
    """Return the box of the last place where a word stands; with a row, the first of that row."""
    search = text.search(word, match_case=True, match_whole_word=False)
    found = []
    while (at := search.get_next()) is not None:
        boxes = [text.get_charbox(n) for n in range(at[0], at[0] + at[1])]
        found.append((min(b[0] for b in boxes), min(b[1] for b in boxes),
                      max(b[2] for b in boxes), max(b[3] for b in boxes)))  # fmt: skip
    assert found, word
    if row is None:
        return max(found)
    return min(one for one in found if one[1] < row[3] and one[3] > row[1])


def test_the_foot_of_the_pages_before_the_charts_names_set_version_and_date(
    first: WrittenBooks, tmp_path: Path
) -> None:
    book = replace(book_of(tmp_path), title="Regatta", edition="version 3", date="1 May")
    for page in PdfReader(io.BytesIO(front_matter(book, "flute", []))).pages:
        assert page.extract_text().rstrip().splitlines()[-1] == "Regatta · version 3 · 1 May"


def test_a_set_list_with_no_tune_that_can_be_read_is_set(tmp_path: Path) -> None:
    book = replace(book_of(tmp_path), entries=())
    assert front_matter(book, "flute", [], A4, [(1, "lost.yaml")])


def test_names_of_files() -> None:
    players = ["Flute", "flute", "all", "../x", "ध्वनि", "?", "a" * 300]
    names = file_names(players)
    assert len(set(names.values())) == len(players)
    assert names["all"] == "all-2"
    assert all("/" not in name and name and len(name) < 60 for name in names.values())
