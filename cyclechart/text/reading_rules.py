"""The reading rules: the mistakes in a file. One function a rule; its docstring is its help.

Each returns the finding; nothing here raises. ``why RULE`` prints these docstrings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from cyclechart.finding import Edit, Finding, Severity, Spot, Suggestion, suggestions
from cyclechart.text.excerpts import clip, quoted
from cyclechart.text.near_names import nearest_names


def _make(
    rule: str,
    spot: Spot,
    message: str,
    tries: Iterable[str | Suggestion] = (),
    severity: Severity = "error",
) -> Finding:
    return Finding(rule, severity, spot, message, suggestions(tries))


def unreadable(spot: Spot, message: str, tries: Iterable[str | Suggestion] = ()) -> Finding:
    """The file, or a part of it, cannot be read as YAML.

    A line of music that begins with - { [ ! | # * or holds ': ' means something else to YAML.
    Put such a line in a block.

    wrong:  sargam: - G m P
    right:  sargam: |
              - G m P
    """
    return _make("unreadable", spot, message, tries)


def duplicate_key(spot: Spot, key: str, first: int) -> Finding:
    """The same key is written twice in one mapping, so one of the two would be lost.

    wrong:  tempo: 92
            tempo: 96
    right:  tempo: 96
    """
    message = f"'{clip(key)}' is already given on line {first}"
    return _make("duplicate-key", spot, message, ["keep one of the two"])


def unknown_key(
    spot: Spot,
    key: str,
    known: Iterable[str],
    where: str,
    first: Iterable[str | Suggestion] = (),
) -> Finding:
    """The key does not exist here; the nearest known keys are suggested.

    wrong:  tempp: 92
    right:  tempo: 92
    """
    names = list(known)
    close = nearest_names(key, names)
    tries: list[str | Suggestion] = [*first, *(f"{name}:" for name in close)]
    if not tries:
        tries = ["one of: " + ", ".join(sorted(names))]
    return _make("unknown-key", spot, f"{where} has no key '{clip(key)}'", tries)


def missing_key(spot: Spot, key: str, where: str, example: str) -> Finding:
    """A required key is missing: a piece needs title, tonic, mode, cycle, tempo and lines.

    wrong:  title: Ferry at First Light        (and no tonic)
    right:  title: Ferry at First Light
            tonic: D
    """
    return _make("missing-key", spot, f"{where} needs '{key}'", [example] if example else [])


def wrong_value(spot: Spot, message: str, tries: Iterable[str | Suggestion] = ()) -> Finding:
    """The value does not fit its key.

    wrong:  tempo: fast
    right:  tempo: 160
    """
    return _make("wrong-value", spot, message, tries)


def unknown_name(spot: Spot, what: str, name: str, known: Iterable[str]) -> Finding:
    """The mode, cycle, rule or player is not in the piece, the band's folder or the catalogue.

    wrong:  mode: charukesh
    right:  mode: charukeshi
    """
    return _make(
        "unknown-name", spot, f"there is no {what} '{clip(name)}'", nearest_names(name, known)
    )


def unknown_line(spot: Spot, name: str, known: Iterable[str]) -> Finding:
    """The form or a liberty names a line that the piece does not have.

    wrong:  - play: haed
    right:  - play: head
    """
    names = list(known)
    tries = nearest_names(name, names) or ["one of: " + ", ".join(names)] * bool(names)
    return _make("unknown-line", spot, f"the piece has no line '{clip(name)}'", tries)


def overlap(spot: Spot, message: str, tries: Iterable[str | Suggestion] = ()) -> Finding:
    """One player would have to play two things at once.

    wrong:  - solo: flute
              cycles: 4
              over: head                       (and nobody but the flute plays melodies)
    right:  - solo: flute
              cycles: 4
    """
    return _make("overlap", spot, message, tries)


def bad_cell(spot: Spot, message: str, tries: Iterable[str | Suggestion] = ()) -> Finding:
    """A cell of a line cannot be read: an unknown letter, or a sign in the wrong place.

    wrong:  S R X m
    right:  S R G m
    """
    return _make("bad-cell", spot, message, tries)


def other_spelling(spot: Spot, message: str, tries: Iterable[str | Suggestion] = ()) -> Finding:
    """The text of a line is in another spelling of the tones than that of its key.

    Names (Sa Re Ga), the scripts of India, S R G with lines under and over them, sol-fa and others
    are written as sargam; R1 G3, degrees and letters have keys of their own. Where the text leaves
    open which form of a tone is meant, the mode decides.

    wrong:  sargam: Sa Re Ga Ma
    right:  sargam: S R G m
    """
    return _make("other-spelling", spot, message, tries)


def two_readings(spot: Spot, cell: str, cuts: Iterable[str | Suggestion]) -> Finding:
    """A drum cell can be split into syllables in two ways; a '.' shows which is meant.

    wrong:  strokes: katra      (kat ra, or ka tra)
    right:  strokes: kat.ra
    """
    return _make("two-readings", spot, f"'{clip(cell)}' can be read in more than one way", cuts)


def unclosed(spot: Spot, message: str, tries: Iterable[str | Suggestion] = ()) -> Finding:
    """A bracket, brace or decoration is opened and not closed, or closed and not opened.

    wrong:  [S R G m x3/2
    right:  [S R G m]x3/2
    """
    return _make("unclosed", spot, message, tries)


def too_long(spot: Spot, message: str, tries: Iterable[str | Suggestion] = ()) -> Finding:
    """Something is longer or larger than any music needs: a limit against slips and attacks.

    wrong:  SRGmPdnSRGmPdnSRGmPdn     (21 elements in one beat; 16 is the most)
    right:  SRGmPdn SRGmPdn SRGmPdn
    """
    return _make("too-long", spot, message, tries)


def cycle_unsound(
    spot: Spot, message: str, tries: Iterable[str | Suggestion] = (), severity: Severity = "error"
) -> Finding:
    """The cycle is inconsistent: its sections do not add up, or a clap is not on a section start.

    wrong:  beats: 10        sections: [4, 4, 4]
    right:  beats: 12        sections: [4, 4, 4]
    """
    return _make("cycle-unsound", spot, message, tries, severity)


def mode_unsound(
    spot: Spot, message: str, tries: Iterable[str | Suggestion] = (), severity: Severity = "error"
) -> Finding:
    """The mode is inconsistent: its ascent falls, it has under five tones, or its vadi is silent.

    wrong:  ascent: S' n d P m G R S
    right:  ascent: S R G m P d n S'
    """
    return _make("mode-unsound", spot, message, tries, severity)


def two_meanings(spot: Spot, message: str, tries: Iterable[str | Suggestion] = ()) -> Finding:
    """A word means one thing here and may be meant as another: tenor, the voice or the saxophone.

    wrong:  players: {alto-sax: melody, tenor: melody}
    right:  players: {alto-sax: melody, tenor: {instrument: tenor-sax, plays: melody}}
    """
    return _make("two-meanings", spot, message, tries, "warning")


def lost_to_comment(
    spot: Spot, text: str, comment: str, tries: Iterable[str | Suggestion] | None = None
) -> Finding:
    """YAML takes the end of a text as a comment: what follows the # is not part of the value.

    wrong:  title: Ferry #1
    right:  title: "Ferry #1"
    """
    message = f"YAML takes '{clip(comment)}' as a comment, so the text ends at '{clip(text)}'"
    mended: Iterable[str | Suggestion] = [quoted(f"{text} {comment}")] if tries is None else tries
    return _make("lost-to-comment", spot, message, mended, "warning")


def one_tone_phrase(spot: Spot, text: str, edits: tuple[Edit, ...] = ()) -> Finding:
    """A phrase has only one tone: inside [ ] YAML splits at octave commas. Quote such phrases.

    wrong:  phrases: [N, R G, m P]          (three phrases: N; R G; m P)
    right:  phrases: ["N, R G", m P]
    """
    message = f"'{clip(text)}' is a phrase of one tone; inside [ ] YAML splits at each comma"
    tries = [Suggestion("quote the phrase", edits)]
    return _make("one-tone-phrase", spot, message, tries, "warning")


READING: tuple[Callable[..., Finding], ...] = (
    unreadable, duplicate_key, unknown_key, missing_key, wrong_value, unknown_name, unknown_line,
    overlap, bad_cell, other_spelling, two_readings, unclosed, too_long, cycle_unsound,
    mode_unsound, two_meanings, lost_to_comment, one_tone_phrase,
)  # fmt: skip
"""Every reading rule, in the order in which ``why`` lists them."""


def name_of(rule: Callable[..., Finding]) -> str:
    """The stable name of a reading rule: ``unknown_key`` -> ``unknown-key``."""
    return rule.__name__.replace("_", "-")
