"""Line texts that YAML cannot take: reported with the mended text, and read on.

piece-language.md: 'Line text that starts with - { [ ! | # * or holds ": " needs a block (|) or
quotes: say so in the finding, with the mended text.'
"""

from __future__ import annotations

import pytest
import yaml
from hypothesis import assume, given
from hypothesis import strategies as st
from support.line_texts import compose_text, finding_places, mapping, scalar

from cyclechart.text.nodes import Mapping
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.shape_fitting import fit
from cyclechart.text.shapes import TEXT, Shape, required
from cyclechart.text.yaml_repair import mend

STARTS = {
    "-": "- G m P",
    "{": "{R}S G m",
    "{ with octaves": "{R'}S' G' m",
    "[": "[S R G]x3/2 m",
    "[ alone": "[S R G]x3/2",
    "!": "!andolan!g m",
    "|": "| S R | G m",
    "||": "|| S R",
    "*": "*S R",
    "&": "& S R",
    ": ": "S R: G",
    ": at the end": "S R G:",
    "[ never closed": "[S R G",
    "{ never closed": "{R S",
}


@pytest.mark.parametrize("text", STARTS.values(), ids=STARTS)
def test_yaml_itself_cannot_read_the_text(text: str) -> None:
    # Outside: PyYAML, a YAML 1.1 reader. The rule is there because of this.
    with pytest.raises(yaml.YAMLError):
        yaml.safe_load(f"lines:\n  head:\n    sargam: {text}\n    begins: 3\n")


@pytest.mark.parametrize("text", STARTS.values(), ids=STARTS)
def test_the_finding_stands_at_the_text_and_shows_it_mended(text: str) -> None:
    root, findings = compose_text(f"title: T\nsargam: {text}\nbegins: 3\n")
    assert finding_places(findings) == [("unreadable", 2, 9)]
    assert findings[0].spot.width == len(text)
    assert findings[0].tries == (f"sargam: |\n  {text}",)
    assert root is not None
    assert root.plain() == {"title": "T", "sargam": text, "begins": "3"}


@pytest.mark.parametrize("text", STARTS.values(), ids=STARTS)
def test_what_the_finding_shows_can_be_put_in_its_place(text: str) -> None:
    _, findings = compose_text(f"sargam: {text}\nbegins: 3\n")
    mended = mapping(f"{findings[0].tries[0]}\nbegins: 3\n")
    assert scalar(mended.get("sargam")).text.strip() == text
    assert scalar(mended.get("begins")).text == "3"


@pytest.mark.parametrize(
    ("text", "why"),
    [("- G", "starts with '-'"), ("S: R", "contains ': '"), ("{R}S", "starts with '{'")],
)
def test_the_finding_says_what_yaml_stumbled_on(text: str, why: str) -> None:
    _, findings = compose_text(f"sargam: {text}\n")
    assert why in findings[0].message


def test_a_text_that_becomes_a_comment_is_told_so_by_its_shape() -> None:
    """YAML reads ``degrees: #4 5`` without complaint, as an empty text and a comment."""

    class Line(Shape):
        degrees = required(TEXT)

    for text in ("#4 5 b6", "# S R"):
        root, findings = compose_text(f"degrees: {text}\n")
        assert findings == []
        assert root is not None
        _, findings = fit(Line, root)
        assert [found.rule for found in findings] == ["wrong-value"]
        assert "comment" in findings[0].message
        assert findings[0].tries == (f"degrees: |\n  {text}",)
        mended = mapping(findings[0].tries[0] + "\n")
        assert scalar(mended.get("degrees")).text.strip() == text


def test_the_other_mistakes_of_the_file_are_found_in_the_same_run() -> None:
    root, findings = compose_text(
        "title: T\n"
        "lines:\n"
        "  one:\n"
        "    sargam: - S' X R\n"
        "  two:\n"
        "    sargam: {R}S\n"
        "  three: {sargam: S Y}\n"
        "title: again\n"
        "form:\n"
        "  - play: !one!\n"
    )
    assert sorted(finding_places(findings)) == [
        ("duplicate-key", 8, 1),
        ("unreadable", 4, 13),
        ("unreadable", 6, 13),
        ("unreadable", 10, 11),
    ]
    assert isinstance(root, Mapping)
    lines = root.get("lines")
    assert isinstance(lines, Mapping)
    found = []
    for _, line in lines.pairs.values():
        assert isinstance(line, Mapping)
        found += read_line(scalar(line.get("sargam")).passage(), SARGAM_SCRIPT)[1]
    assert finding_places(found) == [("bad-cell", 4, 18), ("bad-cell", 7, 21)]


def test_after_twenty_mended_texts_the_reader_gives_up_with_twenty_findings() -> None:
    root, findings = compose_text("".join(f"line-{n}: - S R\n" for n in range(30)))
    assert root is None
    assert [found.spot.line for found in findings] == list(range(1, 21))


music = st.text(alphabet="SRGmPdn',-|~[]{}!* ", min_size=1, max_size=30).map(str.strip)


@given(st.sampled_from(["- ", "{", "[", "!", "| ", "*", "& "]), music)
def test_every_character_of_a_mended_text_stands_where_the_file_has_it(
    start: str, rest: str
) -> None:
    text = (start + rest).strip()
    written = f"a: 1\nsargam: {text}\nb: 2\n"
    root, findings = compose_text(written)
    # Now and then YAML can take the text, as a list, a mapping or a tag: not this test's matter.
    assume([found.rule for found in findings] == ["unreadable"])
    assert isinstance(root, Mapping)
    passage = scalar(root.get("sargam")).passage()
    assert passage.text == text
    for index, letter in enumerate(text):
        spot = passage.spot(index)
        assert (spot.line, written.split("\n")[1][spot.column - 1]) == (2, letter)


@pytest.mark.parametrize(
    "text",
    ["sargam: |\n", "sargam: >-\n", "sargam: 'S R'\n", 'sargam: "S R"\n', "sargam: S R\n", "S R\n"],
)
def test_a_text_that_yaml_takes_as_text_is_left_alone(text: str) -> None:
    assert mend(text, 0, None) is None


def test_the_mended_text_is_indented_under_its_key() -> None:
    mended = mend("form:\n  - play: *head\n", 1, None)
    assert mended is not None
    assert mended.text == "form:\n  - play: '*head'\n"
    assert (mended.row, mended.column, mended.width) == (1, 10, 5)


def test_a_quote_in_a_mended_text_is_doubled() -> None:
    mended = mend("sargam: - S' R''\n", 0, None)
    assert mended is not None
    assert mended.text == "sargam: '- S'' R'''''\n"
    assert yaml.safe_load(mended.text) == {"sargam": "- S' R''"}


def test_in_braces_only_the_value_at_fault_is_quoted() -> None:
    written = "head: {sargam: [S' R]x2 g, begins: 1, words: |a b}\nnext: [1, 2]\n"
    root, findings = compose_text(written)
    assert finding_places(findings) == [("unreadable", 1, 16), ("unreadable", 1, 46)]
    assert findings[0].tries == ("sargam: '[S'' R]x2 g'",)
    assert root is not None
    assert root.plain() == {
        "head": {"sargam": "[S' R]x2 g", "begins": "1", "words": "|a b"},
        "next": ["1", "2"],
    }
    assert isinstance(root, Mapping)
    head = root.get("head")
    assert isinstance(head, Mapping)
    for key in ("sargam", "words"):
        passage = scalar(head.get(key)).passage()
        first = written.index(passage.text[0], written.index(key) + len(key) + 1)
        assert passage.spot(0).column == first + 1
        assert passage.spot(5).column == passage.spot(0).column + (5 if key == "sargam" else 3)
    assert (head.key("begins").spot.column, head.key("words").spot.column) == (28, 39)


def test_braces_whose_values_are_sound_are_not_taken_for_text() -> None:
    _, findings = compose_text("cycle: {beats: 8, sections: [4, 4]\ntempo: 92\n")
    assert [found.rule for found in findings] == ["unreadable"]
    assert "as text" not in findings[0].message
    _, findings = compose_text("sections: [4, 4]\nname: Ferry: two\n")
    assert finding_places(findings) == [("unreadable", 2, 7)]
    _, findings = compose_text("one: &l 1\ntwo: *l\nname: Ferry: two\n")
    assert finding_places(findings) == [("unreadable", 3, 7)]


@pytest.mark.parametrize("text", ["- S' R g", "{R}S G", "[S R]x2 g", "S: R"])
def test_all_rows_of_a_text_are_mended(text: str) -> None:
    written = f"  sargam: {text}\n    G m' P\n    R, S\n  begins: 3\n"
    root, findings = compose_text(f"head:\n{written}")
    assert finding_places(findings) == [("unreadable", 2, 11)]
    assert findings[0].tries == (f"sargam: |\n    {text}\n    G m' P\n    R, S",)
    assert isinstance(root, Mapping)
    head = root.get("head")
    assert isinstance(head, Mapping)
    passage = scalar(head.get("sargam")).passage()
    assert passage.text.split() == [*text.split(), "G", "m'", "P", "R,", "S"]
    for index, letter in enumerate(passage.text):
        if not letter.isspace():
            spot = passage.spot(index)
            assert f"head:\n{written}".split("\n")[spot.line - 1][spot.column - 1] == letter
    assert scalar(head.get("begins")).text == "3"


def test_what_yaml_cannot_read_after_a_mended_text_stands_where_the_file_has_it() -> None:
    written = "head: {sargam: [S' R]x2 g, begins: 1}}\n"
    root, findings = compose_text(written)
    assert root is None
    assert finding_places(findings) == [("unreadable", 1, 16), ("unreadable", 1, len(written) - 1)]
