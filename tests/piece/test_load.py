"""A piece file read whole: what it holds, and every mistake of it in one run."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
import yaml
from support.making import DEMO_BOOK, ROOT, findings_of, load_text, piece_of, with_heading
from support.midi_files import midi_bytes

from cyclechart.arrange.arranger import arrange
from cyclechart.finding import MOST_OF_A_RULE, Finding
from cyclechart.piece.load import load
from cyclechart.piece.model import Free, Play, Solo
from cyclechart.piece.schema import schema
from cyclechart.rules.judge import in_order, judge
from cyclechart.theory.spelling import Tonic

LINE = "lines:\n  head: {sargam: S R | G m P | d n | S' n d}\n"


def rules_of(text: str) -> list[str]:
    return [finding.rule for finding in findings_of(text)]


@pytest.mark.parametrize("path", [pytest.param(path, id=path.stem) for path in DEMO_BOOK])
def test_the_demo_book_has_no_finding_but_liberties(path: Path) -> None:
    result = load(path)
    assert not [f for f in result.findings if f.rule != "unknown-name"]  # rules are not named here
    assert result.piece is not None


def test_the_demo_book_is_what_was_promised() -> None:
    pieces = [load(path).piece for path in DEMO_BOOK]
    beats = {piece.cycle.beats for piece in pieces if piece}
    assert {7, 10, 16, Fraction(23, 2)} <= beats
    assert len({piece.mode.name for piece in pieces if piece}) >= 4
    assert all(piece.tonic != Tonic("C") for piece in pieces if piece)


def test_the_piece_of_the_language_page() -> None:
    piece = piece_of(
        "title: Ferry at First Light\ncomposer: The Tidewater Seven\ntonic: E♭\nmode: charukeshi\n"
        "cycle: jhaptal\ntempo: 92 1/2\nlines:\n  head:\n    begins: 8\n    sargam: |\n"
        "      G mP d || P - | m GR G | R n, |\n      S RG m || P - - - - - - - - -\n"
        "  opening:\n    lands: free\n    sargam: |\n      S - - R~G - - P - - - d P - - -\n"
        "form:\n  - free: opening\n    seconds: 40\n  - play: head\n    times: 2\n"
        "  - solo: tabla\n    cycles: 8\n    over: head\n    on-cue: true\n  - play: head\n"
    )
    assert piece.tonic == Tonic("E", -1)
    assert piece.tempo == Fraction(185, 2)
    head = piece.lines["head"]
    assert (head.begins, head.length) == (8, 23)
    assert [note.start for note in head.notes[:4]] == [0, 1, Fraction(3, 2), 2]
    assert piece.lines["opening"].notes[1].glides
    kinds = [type(step) for step in piece.steps]
    assert kinds == [Free, Play, Solo, Play]


def test_all_mistakes_in_one_run() -> None:
    found = findings_of(
        "title: X\ncomposr: Y\ntonic: H\nmode: charukesh\ncycle: jhaptaal-x\ntempo: fast\n"
        "lines:\n  head:\n    begin: 3\n    sargam: S R X m\n  tail:\n    lands: somewhere\n"
        "    sargam: S\nform:\n  - play: haed\n  - plya: head\n  - solo: flute\n    cycles: 4\n"
    )
    told = {(finding.rule, finding.spot.line) for finding in found}
    assert told >= {
        ("unknown-key", 2),
        ("wrong-value", 3),
        ("unknown-name", 4),
        ("unknown-name", 5),
        ("wrong-value", 6),
        ("unknown-key", 9),
        ("bad-cell", 10),
        ("wrong-value", 12),
        ("unknown-line", 15),
        ("unknown-key", 16),
        ("unknown-name", 17),
    }
    by_line = {finding.spot.line: finding for finding in found}
    assert "composer:" in by_line[2].tries
    assert "charukeshi" in by_line[4].tries
    assert "head" in by_line[15].tries


def test_missing_keys_are_all_named_and_the_rest_is_still_judged() -> None:
    found = findings_of("title: X\nmode: bhimpalasi\nlines:\n  head: {sargam: S R g m}\n")
    missing = [f.message for f in found if f.rule == "missing-key"]
    assert missing == [f"a piece needs '{key}'" for key in ("tonic", "cycle", "tempo")]
    assert "left-out-going-up" in [f.rule for f in found]


def test_scalars_stay_as_written() -> None:
    piece = piece_of(f"title: 1:30\ncomposer: no\n{LINE}")
    assert (piece.title, piece.composer) == ("1:30", "no")


@pytest.mark.parametrize(
    ("tempo", "reads"), [("92", "92"), ("92.5", "185/2"), ("92 1/2", "185/2"), ("185/2", "185/2")]
)
def test_numbers_are_exact(tempo: str, reads: str) -> None:
    assert piece_of(LINE, tempo=tempo).tempo == Fraction(reads)


@pytest.mark.parametrize("tempo", ["0", "-5", "1e9", "99999999999", "1/0", "3.99"])
def test_tempos_that_cannot_be(tempo: str) -> None:
    assert "wrong-value" in rules_of(with_heading(LINE, tempo=tempo))


def test_tuning_by_ratio_and_by_cents() -> None:
    piece = piece_of(LINE, tuning="{D: 27/16, n: 996.1}")
    assert piece.tuning.cents[9] == pytest.approx(905.865, abs=1e-3)
    assert piece.tuning.cents[10] == 996.1
    assert piece.tuning.cents[7] == pytest.approx(701.955, abs=1e-3)
    for bad in ("{D: 5}", "{X: 5/3}", "{D: 0/3}", "slanted", "[1, 2]"):
        assert "wrong-value" in rules_of(with_heading(LINE, tuning=bad)), bad


def test_an_own_mode_and_cycle_from_the_band_folder_beside_the_piece(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "book").mkdir()
    (tmp_path / "shared" / "cycles.yaml").write_text("jhaptal: {beats: 11, sections: [4, 4, 3]}\n")
    path = tmp_path / "book" / "a.yaml"
    path.write_text(with_heading("lines:\n  head: {sargam: S R G m | P d n S' | n d P}\n"))
    piece = load(path).piece
    assert piece is not None
    assert piece.cycle.beats == 11
    deep = tmp_path / "book" / "set" / "b.yaml"
    deep.parent.mkdir()
    deep.write_text(path.read_text())
    further = load(deep).piece
    assert further is not None
    assert further.cycle.beats == 10  # no further than beside the piece's own folder


@pytest.mark.parametrize(
    ("line", "lost"),
    [
        ("title: Ferry #1", True),
        ("title: Ferry # the old one", True),
        ('title: it is "Ferry" #1', True),
        ("tonic: D    # Sa", False),
        ("tonic: D\t# Sa", True),
        ("tonic: D # Sa", True),
        ("tonic: F #", True),
        ("tonic: F    #m", True),
        ("cycle: jhaptal # ten", False),
        ("lines: {l: {degrees: 1 2 3}} # both", False),
        ("tempo: 92 #slow", True),
        ("title: 'Ferry #1'", False),
    ],
)
def test_a_value_that_loses_its_tail_to_a_comment(line: str, lost: bool) -> None:
    text = f"{line}\n{LINE}" if not line.startswith("lines") else line
    assert ("lost-to-comment" in rules_of(with_heading(text))) is lost


@pytest.mark.parametrize(
    ("text", "lost"),
    [
        ("degrees: 1 2 3 4 5 4 3 2 #4 5 6 7", True),
        ("sargam: S R #comment", True),
        ("sargam: S R # a comment", False),
        ("sargam: S R #", False),
    ],
)
def test_music_lost_to_a_glued_comment_is_warned_of(text: str, lost: bool) -> None:
    found = findings_of(with_heading(f"lines:\n  h:\n    lands: free\n    {text}\n"))
    assert [f.rule for f in found if f.rule == "lost-to-comment"] == ["lost-to-comment"] * lost


def test_what_is_lost_to_a_comment_is_shown_in_sound_quotes() -> None:
    for title in ('it is "Ferry" #1', "the 'Ferry' #1", 'it\'s \\ "Ferry" #1'):
        found = findings_of(with_heading(f"title: {title}\n{LINE}"))
        told = [f.tries[0] for f in found if f.rule == "lost-to-comment"]
        assert [yaml.safe_load(text) for text in told] == [title]
    found = findings_of(with_heading(f"tonic: F #\n{LINE}"))
    assert found[0].tries[0] == "tonic: F#"


def test_a_one_tone_phrase_is_warned_of() -> None:
    mode = "{ascent: S R G m P d n S', descent: S' n d P m G R S, phrases: [N, R G m, m P]}"
    assert "one-tone-phrase" in rules_of(with_heading(LINE, mode=mode))


def test_words_are_set_as_abc_sets_them() -> None:
    # ABC 2.1, section 5.1: space next note, - next syllable, _ held, * skipped, ~ a space.
    piece = piece_of(
        "lines:\n  head:\n    lands: free\n    sargam: S R G m P d n S'\n"
        "    words: wil-low _ * the~old row-\n"
    )
    words = [note.word for note in piece.lines["head"].notes]
    assert words == ["wil-", "low", "_", "", "the old", "row-", "", ""]


def test_more_words_than_notes_is_a_finding() -> None:
    text = "lines:\n  head: {lands: free, sargam: S R, words: one two three}\n"
    assert "wrong-value" in rules_of(with_heading(text))


def test_text_that_yaml_would_take_for_something_else_is_mended_and_read_on() -> None:
    found = findings_of(
        with_heading("lines:\n  head:\n    sargam: - G m P\n  tail:\n    sargam: [S R]x2 X\n")
    )
    assert [f.rule for f in found].count("unreadable") == 2
    assert found[0].tries[0] == "sargam: |\n      - G m P"
    assert "bad-cell" in [f.rule for f in found]


def test_free_lines_and_players_in_the_form() -> None:
    found = findings_of(
        with_heading(
            "lines:\n  beat: {strokes: dha}\n  head: {lands: free, sargam: S}\nform:\n"
            "  - free: beat\n    seconds: 4\n  - free: melody\n  - free: head\n    seconds: 0\n"
            "  - solo: melody\n    cycles: 2\n    over: head\n  - solo: melody\n"
            "  - play: head\n    times: 1/2\n  - play: head\n    seconds: 3\n"
        )
    )
    told = [(finding.rule, finding.spot.line) for finding in found if finding.severity == "error"]
    assert told == [
        ("wrong-value", 10),
        ("missing-key", 12),
        ("wrong-value", 14),
        ("wrong-value", 17),
        ("missing-key", 18),
        ("wrong-value", 20),
        ("wrong-value", 22),
    ]


def test_liberties_name_what_there_is() -> None:
    found = findings_of(
        with_heading(
            f"{LINE}liberties:\n  - {{rule: foreign-tune, why: x}}\n"
            "  - {rule: foreign-tone, line: haed, tone: X, why: x}\n  - {rule: foreign-tone}\n"
        )
    )
    assert [f.rule for f in found] == ["unknown-name", "unknown-line", "wrong-value", "missing-key"]


def test_a_liberty_covers_its_own_line_and_tone_alone() -> None:
    text = with_heading(
        "lines:\n  head: {lands: free, sargam: S N M}\n  tail: {lands: free, sargam: S N}\n"
        "liberties:\n  - {rule: foreign-tone, line: head, tone: N, why: a joke}\n"
    )
    told = [(f.message[0], f.place.within if f.place else "", f.liberty) for f in findings_of(text)]
    assert told == [("N", "head", "a joke"), ("M", "head", None), ("N", "tail", None)]


def test_an_endless_form_is_refused() -> None:
    steps = "".join("  - {play: head, times: 200}\n" for _ in range(60))
    assert "too-long" in rules_of(with_heading(f"{LINE}form:\n{steps}"))


HOSTILE: dict[str, bytes] = {
    "a tag that would call": b"!!python/object/apply:os.system ['ls']",
    "an alias bomb": b"a: &a [x,x,x,x,x,x,x,x,x,x]\n"
    + b"".join(
        b"%c: &%c [%s]\n" % (98 + i, 98 + i, b",".join([b"*%c" % (97 + i)] * 10)) for i in range(9)
    ),
    "a list that holds itself": b"a: &a [*a]\n",
    "a hundred thousand brackets": b"[" * 100_000,
    "a cell of a thousand elements": with_heading(
        f"lines: {{h: {{sargam: {'S' * 1000}}}}}\n"
    ).encode(),
    "a cell of a million": with_heading(f"lines: {{h: {{sargam: {'S' * 1_000_000}}}}}\n").encode(),
    "repeats of repeats": with_heading(
        "lines:\n  h:\n    sargam: |\n      " + "(" * 6 + "S" + ")*1000" * 6 + "\n"
    ).encode(),
    "repeats of nothing": with_heading(
        "lines:\n  h:\n    sargam: |\n      " + "(" * 6 + "|" + ")*1000" * 6 + "\n"
    ).encode(),
    "a cycle of a million beats": with_heading(LINE, cycle="{beats: 1000000}").encode(),
    "a number of a thousand digits": with_heading(LINE, tempo="9" * 1000).encode(),
    "paths for names": with_heading(LINE, mode="../../etc/passwd", cycle="/etc/passwd").encode(),
    "nothing": b"",
    "zero bytes": b"\0" * 100,
    "not UTF-8": b"\xff\xfe\x00t",
    "a title of two million letters": b"title: " + b"x" * 1_999_000,
    "null values": b"title:\ntonic:\nmode:\ncycle:\ntempo:\nlines:\nform:\n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_get_findings(name: str) -> None:
    assert findings_of(HOSTILE[name])


SOURCES = [path.read_bytes() for path in DEMO_BOOK]


@pytest.mark.parametrize("seed", range(100))
def test_mangled_files_get_findings_or_run_clean(seed: int) -> None:
    dice = random.Random(seed)
    data = bytearray(dice.choice(SOURCES))
    for _ in range(dice.randint(1, 12)):
        at = dice.randrange(len(data))
        change = dice.choice(["replace", "delete", "insert", "double"])
        if change == "replace":
            data[at] = dice.randrange(256)
        elif change == "delete":
            del data[at : at + dice.randint(1, 20)]
        elif change == "insert":
            data[at:at] = bytes(
                dice.choices(b"[](){}*&!|>'\"#:-~/x0129 \n\tSRGmP,", k=dice.randint(1, 8))
            )
        else:
            data[at:at] = data[at : at + dice.randint(1, 200)]
    result = load_text(bytes(data), ROOT / "pieces")
    if result.piece is not None:
        in_order([*result.findings, *judge(result.piece)])
    if result.piece is not None and not any(f.severity == "error" for f in result.findings):
        midi_bytes(arrange(result.piece))


def test_the_json_schema_takes_the_demo_book_and_refuses_a_stray_key() -> None:
    validator = jsonschema.Draft7Validator(schema())
    for path in DEMO_BOOK:
        validator.validate(yaml.safe_load(path.read_text("utf-8")))
    piece = yaml.safe_load(DEMO_BOOK[0].read_text("utf-8"))
    assert not validator.is_valid({**piece, "tempoo": 3})
    assert "prefixItems" not in str(schema())  # draft-07 editors do not know it


def test_the_same_fault_at_the_same_place_is_told_once(tmp_path: Path) -> None:
    text = "lines:\n  one: &l {lands: free, sargam: S X}\n  two: *l\n"
    assert rules_of(with_heading(text)).count("bad-cell") == 1
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "modes.yaml").write_text("own: {ascent: S Q, descent: &d S Q, note: *d}")
    path = tmp_path / "a.yaml"
    path.write_text(with_heading(LINE, mode="own"))
    found = load(path).findings
    assert len(found) == len(set(found)) == 2


def test_a_song_with_too_many_words_points_at_the_first_of_them() -> None:
    text = (
        "lines:\n  h:\n    lands: free\n    sargam: S R\n    words: |\n      one two\n      three\n"
    )
    found = findings_of(with_heading(text))
    assert [(f.rule, f.spot.line, f.spot.column, f.spot.width) for f in found] == [
        ("wrong-value", 12, 7, 5)
    ]


def test_free_lines_keep_no_time_under_a_solo_and_the_soloist_has_two_hands() -> None:
    lines = "lines:\n  opening: {lands: free, sargam: S R}\n  beat: {strokes: dha}\n"
    lines += "  head: {sargam: S R | G m P | d n | S' n d}\n"
    solo = "form:\n  - {play: head}\n  - {play: beat}\n  - solo: tabla\n    cycles: 2\n    over: "
    told = [f for f in findings_of(with_heading(f"{lines}{solo}opening\n")) if "over:" in str(f)]
    assert [(f.rule, f.spot.line, f.tries) for f in told] == [("wrong-value", 15, ("over: head",))]
    assert "cannot keep time" in told[0].message
    told = [f for f in findings_of(with_heading(f"{lines}{solo}beat\n")) if "over:" in str(f)]
    assert [(f.rule, f.tries) for f in told] == [("overlap", ("over: head",))]
    assert told[0].message == "tabla takes the solo, and cannot also play 'beat', which keeps time"


@pytest.mark.parametrize(
    ("text", "message", "tried"),
    [
        (
            f"{LINE}form: [head, answer]\n",
            "a step of the form is written - play: head",
            ("- play: head",),
        ),
        (
            "lines:\n  head: S R G m\n",
            "line 'head' needs its text under a key",
            ("sargam: S R G m",),
        ),
        ("lines:\n  head:\n", "line 'head' needs its text under a key", ("sargam: S R G m",)),
        (
            f"{LINE}liberties: [foreign-tone]\n",
            "a liberty is written - rule: foreign-tone, with why: below it",
            ("- rule: foreign-tone",),
        ),
    ],
)
def test_a_text_where_a_mapping_belongs_is_told_how_it_is_written(
    text: str, message: str, tried: tuple[str, ...]
) -> None:
    found = findings_of(with_heading(text))
    assert (found[0].message, found[0].tries) == (message, tried)


def test_a_bad_step_or_liberty_leaves_the_others_standing() -> None:
    found = findings_of(
        with_heading(
            f"{LINE}form:\n  - foo\n  - play: haed\n  - plya: head\n  - [1]\n"
            "  - play: head\n    times: 0\nliberties:\n  - foo\n  - {rule: foreign-tone}\n"
        )
    )
    told = [(f.rule, f.spot.line) for f in found if f.severity == "error"]
    assert told == [
        ("wrong-value", 9),
        ("unknown-line", 10),
        ("unknown-key", 11),
        ("wrong-value", 11),
        ("wrong-value", 12),
        ("wrong-value", 14),
        ("wrong-value", 16),
        ("missing-key", 17),
    ]


def test_a_line_text_that_commas_cut_says_to_quote_it() -> None:
    found = findings_of(with_heading("lines:\n  head: {sargam: N, R G, begins: 2}\n"))
    told = [f.tries[0] for f in found if f.rule == "unknown-key"]
    assert told == ['quote the text: sargam: "N, R G"']


def test_of_one_rule_the_first_findings_are_listed_and_the_last_says_more() -> None:
    def unknown(count: int) -> list[Finding]:
        keys = "".join(f"zz{number}: 1\n" for number in range(count))
        found = load_text(with_heading(f"lines: {{a: {{sargam: S}}}}\n{keys}")).findings
        return [one for one in found if one.rule == "unknown-key"]

    just, more = unknown(MOST_OF_A_RULE), unknown(MOST_OF_A_RULE + 50)
    assert len(just) == len(more) == MOST_OF_A_RULE
    assert "and there are more" not in just[-1].message
    assert more[-1].message.endswith("(and there are more)")
    assert more[:-1] == just[:-1]
