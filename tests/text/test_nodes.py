"""YAML as raw texts that know where they stand, and nothing else than text (piece-language.md,
'Reading the YAML')."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from support.line_texts import FILE, compose_text, finding_places, mapping, scalar

from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence, comments_after, find
from cyclechart.text.source import MAX_BYTES, Source

# Raw text, never YAML 1.1's idea of it


@pytest.mark.parametrize(
    "text",
    ["1:30", "010", "no", "on", "~", "N", "y", "null", "1e3", "0x10", "2024-01-02", "1_000", ".5"],
)
def test_a_value_stays_the_text_that_was_written(text: str) -> None:
    root = mapping(f"key: {text}\n{text}: key\n")
    assert root.plain() == {"key": text, text: "key"}


def test_yaml_itself_would_have_made_other_things_of_them() -> None:
    # Outside: what PyYAML's own loader, which follows YAML 1.1, makes of the same file.
    made = yaml.safe_load("a: 1:30\nb: 010\nc: no\nd: on\ne: ~\n")
    assert list(made.values()) == [90, 8, False, True, None]


@given(st.integers(-(10**9), 10**9).map(str) | st.sampled_from(["yes", "Off", "1:59:59", "0o17"]))
def test_numbers_and_truths_are_texts_too(text: str) -> None:
    assert mapping(f"k: {text}\n").plain() == {"k": text}


# Where each character stands


def file_character(text: str, line: int, column: int) -> str:
    return text.split("\n")[line - 1][column - 1]


STYLES = {
    "plain": "line:\n  sargam: S R' G, | m P' -\nnext: 1\n",
    "single quotes, the quote doubled": "line:\n  sargam: 'S R'' G, | m P''''  -'\nnext: 1\n",
    "double quotes": "line:\n  sargam: \"S R' G, | m P' -\"\nnext: 1\n",
    "block": "line:\n  sargam: |\n    S R' G,\n      | m P' -\n\n    n\nnext: 1\n",
    "block with a chomping sign": "line:\n  sargam: |-\n    S R' G,\nnext: 1\n",
    "folded": "line:\n  sargam: >\n    S R' G,\n    | m P' -\n\n    n\nnext: 1\n",
    "plain over two lines": "line:\n  sargam: S R' G,\n    m P' -\nnext: 1\n",
    "anchored": "line:\n  sargam: &tune S R' G,\nnext: 1\n",
    "anchored and quoted": "line:\n  sargam: &tune 'S R'' G,'\nnext: 1\n",
    "in a list of one line": "line: {sargam: S R' G}\nnext: 1\n",
    "after wide letters": "♭𝄞😀: {é😀: 1, sargam: S R' G}\n",
}


@pytest.mark.parametrize("text", STYLES.values(), ids=STYLES)
def test_every_character_of_a_line_text_knows_its_place(text: str) -> None:
    root = mapping(text)
    line = next(iter(root.pairs.values()))[1]
    assert isinstance(line, Mapping)
    passage = scalar(line.get("sargam")).passage()
    assert passage.text.split()[:2] == ["S", "R'"]
    for index, letter in enumerate(passage.text):
        if not letter.isspace():
            spot = passage.spot(index)
            assert file_character(text, spot.line, spot.column) == letter


def test_block_and_folded_texts_are_taken_as_they_stand() -> None:
    for sign in "|>":
        root = mapping(f"sargam: {sign}\n  S R\n  G m\nnext: 1\n")
        assert scalar(root.get("sargam")).passage().text.split() == ["S", "R", "G", "m"]


def test_an_escape_of_a_double_quoted_text_stands_at_its_backslash() -> None:
    written = 'a: 1\nsargam: "S\\tR\\x27 \\u0047\\\\"\n'
    passage = scalar(mapping(written).get("sargam")).passage()
    assert passage.text == "S\tR' G\\"
    columns = [passage.spot(at).column for at in range(len(passage.text))]
    assert columns == [10, 11, 13, 14, 18, 19, 25]


def test_a_double_quoted_text_with_escapes_over_rows_points_at_its_quote() -> None:
    passage = scalar(mapping('a: 1\nsargam: "S \\\n  R"\n').get("sargam")).passage()
    assert passage.text == "S R"
    assert {(passage.spot(at).line, passage.spot(at).column) for at in range(3)} == {(2, 9)}


@pytest.mark.parametrize(
    "text",
    [
        "a: 1\nsargam: |2\n    S R\n  G m\nnext: 1\n",
        "a: 1\nsargam: >-2\n    S R\n  G m\n# no part of it\nnext: 1\n",
        "lines:\n- - 1\n  - |2-\n      S R\n    G m\n",
        "lines:\n- sargam: |1\n     S R\n   G m\n",
        "lines:\n- |2\n     S R\n  G m\n",
    ],
)
def test_an_indentation_indicator_says_where_the_rows_begin(text: str) -> None:
    found: list[Scalar] = []

    def walk(node: Node) -> None:
        if isinstance(node, Scalar) and node.style:
            found.append(node)
        for below in getattr(node, "items", ()) if isinstance(node, Sequence) else ():
            walk(below)
        if isinstance(node, Mapping):
            for _, value in node.pairs.values():
                walk(value)

    walk(mapping(text))
    assert [node.passage().text.split() for node in found] == [["S", "R", "G", "m"]]


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ("title: T\ntonic D\nmode: yaman\n", 2, 1),
        ("title: T\ntonic D\n", 2, 1),
        ("title: T\ntonic: 'D\nmode: yaman\n", 2, 8),
    ],
    ids=["a colon", "a colon on the last line", "a quote"],
)
def test_what_yaml_misses_too_late_is_told_where_it_was_left_out(
    text: str, line: int, column: int
) -> None:
    root, findings = compose_text(text)
    assert root is None
    assert finding_places(findings) == [("unreadable", line, column)]


sargam = st.text(alphabet="SRGmPdn',-|~ ", min_size=1, max_size=30).filter(str.strip)


@given(sargam, st.integers(1, 6))
def test_quoted_and_block_texts_know_their_places_whatever_they_hold(
    text: str, indent: int
) -> None:
    quoted = "a: 1\nsargam: '" + text.replace("'", "''") + "'\nb: 2\n"
    block = f"a: 1\nsargam: |\n{' ' * indent}{text.strip()}\nb: 2\n"
    for written in (quoted, block):
        passage = scalar(mapping(written).get("sargam")).passage()
        assert passage.text.split() == text.split()
        for index, letter in enumerate(passage.text):
            if not letter.isspace():
                spot = passage.spot(index)
                assert file_character(written, spot.line, spot.column) == letter


def test_a_doubled_quote_before_a_tone_does_not_shift_its_place() -> None:
    passage = scalar(mapping("sargam: 'S'' R'' G'\n").get("sargam")).passage()
    assert passage.text[3:5] == "R'"
    assert passage.spot(3).column == 14


def test_keys_values_and_items_know_their_places() -> None:
    root = mapping("title: Ferry\nform:\n  - play: head\n  - groove\n")
    assert (root.key("form").spot.line, root.key("form").spot.column) == (2, 1)
    node, whole = find(root, ("form", 1))
    assert whole
    assert (node.spot.line, node.spot.column, node.spot.width) == (4, 5, len("groove"))
    node, whole = find(root, ("form", 0, "by"))
    assert not whole
    assert node.spot.line == 3


def test_an_offset_past_the_end_stands_at_the_end() -> None:
    source = Source.of(FILE, "ab\nc")
    assert (source.spot(99).line, source.spot(99).column) == (2, 2)
    assert (source.spot(-1).line, source.spot(-1).column) == (1, 1)
    assert [source.line(number) for number in (0, 1, 2, 3)] == ["", "ab", "c", ""]


# Comments


def test_values_that_lose_their_tail_to_a_comment_are_found() -> None:
    root = mapping("title: Ferry #1\nwhy: 'a # b' # c\ntonic: F#\nlist: [a, b] # d\nkey: v # e\n")
    found = [(path, node.text, comment) for path, node, comment in comments_after(root)]
    assert found == [(("title",), "Ferry", "#1"), (("key",), "v", "# e")]


# Faults of the file, each in its place


def test_a_key_written_twice_is_a_finding_and_the_first_stays() -> None:
    root, findings = compose_text("tempo: 92\nmode: yaman\ntempo: 96\nlines: {a: 1, a: 2}\n")
    assert finding_places(findings) == [("duplicate-key", 3, 1), ("duplicate-key", 4, 15)]
    assert "line 1" in findings[0].message
    assert root is not None
    assert root.plain() == {"tempo": "92", "mode": "yaman", "lines": {"a": "1"}}


@pytest.mark.parametrize(
    ("text", "line", "column", "tag"),
    [
        ("title: !!python/object/apply:os.getcwd []\n", 1, 8, "!!python/object/apply:os.getcwd"),
        ("title: !mine x\n", 1, 8, "!mine"),
        ("a: 1\nb:\n  - !!str 5\n", 3, 5, "!!str"),
        ("title: &t !!str 5\n", 1, 11, "!!str"),
        ("!!map {title: x}\n", 1, 1, "!!map"),
    ],
)
def test_a_tag_is_a_finding_and_builds_nothing(text: str, line: int, column: int, tag: str) -> None:
    _, findings = compose_text(text)
    # An unknown handle is the reader's own fault; a known one is refused by name.
    assert findings
    assert (findings[0].spot.line, findings[0].spot.column) == (line, column)
    assert findings[0].rule in ("wrong-value", "unreadable")
    assert tag in findings[0].message or tag in findings[0].tries[0]


def test_an_exclamation_in_a_text_is_no_tag() -> None:
    assert mapping("title: &t Oh, !that one\n").plain() == {"title": "Oh, !that one"}


def test_an_alias_stands_for_what_it_names() -> None:
    root = mapping("a: &a {b: c}\nd: *a\n")
    assert root.plain() == {"a": {"b": "c"}, "d": {"b": "c"}}


def test_an_alias_bomb_is_one_finding() -> None:
    # The well-known shape: nine levels of nine aliases each, 387 million values if unfolded.
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    for level in range(1, 9):
        lines.append(f"a{level}: &a{level} [" + ", ".join([f"*a{level - 1}"] * 9) + "]")
    root, findings = compose_text("\n".join(lines) + "\n")
    assert root is None
    assert [found.rule for found in findings] == ["too-long"]


def test_an_alias_to_itself_is_one_finding() -> None:
    root, findings = compose_text("a: &a [*a]\n")
    assert root is None
    assert [found.rule for found in findings] == ["too-long"]


@pytest.mark.parametrize(
    "text",
    [
        "a: " + "[" * 100_000,
        "a: " + "[" * 300 + "]" * 300,
        "{a: " * 50_000,
        "- " * 100_000 + "a",
        "? " * 100_000 + "a",
        "".join(" " * depth + "a:\n" for depth in range(1500)),
        "".join(" " * depth + "a:\n" for depth in range(30)),
    ],
    ids=["[[[", "[[[ closed", "{a: {a:", "- - -", "? ? ?", "1500 indents", "30 indents"],
)
def test_deep_nesting_is_one_finding(text: str) -> None:
    root, findings = compose_text(text)
    assert root is None
    assert [found.rule for found in findings] in (["too-long"], ["unreadable"])


def test_a_file_over_the_limit_is_not_read() -> None:
    at_most = b"title: " + b"x" * (MAX_BYTES - 8) + b"\n"
    root, findings = compose_text(at_most)
    assert isinstance(root, Mapping)
    assert findings == []
    root, findings = compose_text(at_most + b"#")
    assert root is None
    assert finding_places(findings) == [("too-long", 1, 1)]


@pytest.mark.parametrize("letter", ["\0", "\x07", "\x1b", "\x7f", "\x85", "\u2028", "\ufeff"])
def test_a_control_character_is_a_finding_in_its_place(letter: str) -> None:
    root, findings = compose_text(f"a: 1\nb: x{letter}y\n")
    assert root is None
    assert finding_places(findings) == [("unreadable", 2, 5)]
    assert f"U+{ord(letter):04X}" in findings[0].message


@pytest.mark.parametrize("text", ["भैरव", "Chārukeśī", "क्‍ष", "♭♯½", "😀", "a\u00a0b"])
def test_the_letters_of_the_worlds_scripts_are_no_control_characters(text: str) -> None:
    assert mapping(f"title: {text}\n").plain() == {"title": text}


def test_bytes_that_are_no_utf8_are_found_in_their_place() -> None:
    root, findings = compose_text("a: é\nb: ".encode() + b"\xff\n")
    assert root is None
    assert finding_places(findings) == [("unreadable", 2, 4)]


def test_a_byte_order_mark_takes_no_column() -> None:
    root, findings = compose_text(b"\xef\xbb\xbftitle: Ferry\n")
    assert findings == []
    assert isinstance(root, Mapping)
    assert root.key("title").spot.column == 1


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_line_end_counts_as_one_line(end: str) -> None:
    text = end.join(["a: 1", "sargam: |", "  S R", "  G m", "b: 2", "b: 3", ""])
    root, findings = compose_text(text)
    assert finding_places(findings) == [("duplicate-key", 6, 1)]
    assert isinstance(root, Mapping)
    passage = scalar(root.get("sargam")).passage()
    spot = passage.spot(passage.text.index("m"))
    assert (spot.line, spot.column) == (4, 5)


def test_a_tab_in_the_indent_says_so() -> None:
    root, findings = compose_text("lines:\n\thead: x\n")
    assert root is None
    assert finding_places(findings) == [("unreadable", 2, 2)]
    assert "with a tab" in findings[0].message
    assert "spaces" in findings[0].tries[0]


@pytest.mark.parametrize(
    "text", ["", "\n\n", "# only a comment\n", "---\n---\n", "a: 1\n---\nb: 2\n"]
)
def test_a_file_without_one_document_is_a_finding(text: str) -> None:
    root, findings = compose_text(text)
    if root is None:
        assert [found.rule for found in findings] == ["unreadable"]
    else:  # an empty document is an empty text, which no shape takes
        assert root.plain() == ""


def test_a_key_that_is_no_word_is_a_finding() -> None:
    root, findings = compose_text("[a, b]: 1\nc: 2\n")
    assert finding_places(findings) == [("wrong-value", 1, 1)]
    assert root is not None
    assert root.plain() == {"c": "2"}


@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_no_file_raises(data: bytes) -> None:
    root, findings = compose_text(data)
    assert root is not None or findings
    assert all(found.spot.line >= 1 and found.spot.column >= 1 for found in findings)


@given(st.text(alphabet="ab: -[]{}'\"|>&*!#%@\n\t,?", max_size=60))
def test_no_mixture_of_yamls_own_signs_raises(text: str) -> None:
    root, findings = compose_text(text)
    assert root is None or isinstance(root, Scalar | Sequence | Mapping)
    assert root is not None or findings
