"""A line's text that is in another spelling than that of its key: one finding, and the line as it
would be written."""

from __future__ import annotations

import re
from typing import NamedTuple

from cyclechart.catalog.spellings.model import Known, Respelled
from cyclechart.catalog.spellings.recognise import all_spellings, respelled
from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Edit, Finding, Spot, Suggestion
from cyclechart.text import reading_rules
from cyclechart.text.chord_script import chords_script
from cyclechart.text.excerpts import clip, quoted
from cyclechart.text.nodes import Scalar
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import (
    DEGREES_SCRIPT,
    SARGAM_SCRIPT,
    SOLFA16_SCRIPT,
    Script,
    letters_script,
)
from cyclechart.text.source import PlacedText, Source
from cyclechart.text.typographic_signs import with_plain_signs
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

MOST_ROWS, MOST_OF_ROW = 40, 300
"""The rows of a line that a finding shows, and the characters of each."""
LONGEST = 10_000
"""Characters of a text that is tried in other scripts."""
_FIRST_CELLS = 8
"""The cells at its beginning that another script must read for the rest to be tried."""
_KEYS = {
    "sargam": "sargam, S R G m",
    "solfa16": "the sixteen names of the South, R1 R2 G3 M1",
    "degrees": "degrees, 1 2 b3 #4",
    "letters": "letters, C D Eb F#",
    "strokes": "drum syllables",
    "chords": "chord symbols",
}
"""What the text under each key is written in."""
_SPELLING_OF = {"solfa16": "sixteen", "degrees": "numbers", "letters": "letters"}
_LATER = ("sixteen", "numbers", "letters", "syllables", "sol-fa")
"""The spellings that a key of ours comes before."""
_UNSAFE_START = re.compile(r"""[-?:,\[\]{}#&*!|>'"%@`]""")
_FLOW = re.compile(r"[{,]\s*[\w-]+:\s*$")


class _Text(NamedTuple):
    """A text of a line: its node, its key, and what it is read against."""

    node: Scalar
    key: str
    known: Known

    @property
    def passage(self) -> PlacedText:
        return self.node.passage()

    @property
    def spot(self) -> Spot:
        """The place of its first row."""
        passage = self.passage
        row = passage.text.lstrip().split("\n", 1)[0].rstrip()
        return passage.spot(len(passage.text) - len(passage.text.lstrip()), len(row))


def other_spelling(
    node: Scalar, key: str, tonic: Tonic, mode: Mode | None, faults: int
) -> Finding | None:
    """Return the finding on a text that its key cannot read since it is in another spelling; None
    for any other text. ``faults``: how many findings reading it under its key gave."""
    text = _Text(node, key, Known(mode, tonic))
    written = text.passage.text
    if len(written) > LONGEST:
        return None
    sooner = [one for one in all_spellings() if one.name not in _LATER]
    found = respelled(written, text.known, sooner) if key != "strokes" else None
    if found is not None and not found.unread and _reads_better(found, faults):
        return _as_sargam(text, found)
    own = _own_key(text)
    if own:
        return _under_its_key(text, own)
    later = () if key == "chords" else all_spellings()
    found = respelled(written, text.known, later)
    if found is not None and _reads_better(found, faults):
        return _as_sargam(text, found)
    return None


def _reads_better(found: Respelled, faults: int) -> bool:
    """Return whether a text has fewer faults as sargam than it had under its key."""
    _, wrong = read_line(PlacedText(Source.of("", found.text), found.text, 0), SARGAM_SCRIPT)
    return len(wrong) < faults


def _own_key(text: _Text) -> str:
    """Return another key of ours whose script reads all of a text; "" where none does."""
    assert text.known.tonic is not None
    cells = [one for one in text.passage.text.split() if not set(one) & set("[](){}|#!")]
    head = " ".join(cells[:_FIRST_CELLS])
    for key in _KEYS:
        if key == text.key or (text.key == "chords" and key in ("letters", "degrees")):
            continue  # letters are chords too: one of them is at fault
        passage = text.passage
        if key != "chords":
            passage = with_plain_signs(passage, key)
        script = _script(key, passage.text, text.known.tonic)
        begins = PlacedText(Source.of("", head), head, 0)
        if read_line(begins if key == "chords" else with_plain_signs(begins, key), script)[1]:
            continue
        items, wrong = read_line(passage, script)
        if not wrong and len(items) > 1:
            return key
    return ""


def _script(key: str, text: str, tonic: Tonic) -> Script:
    match key:
        case "strokes":
            return strokes().script()
        case "chords":
            return chords_script(text, tonic)
        case "letters":
            return letters_script(tonic)
    return {"sargam": SARGAM_SCRIPT, "degrees": DEGREES_SCRIPT, "solfa16": SOLFA16_SCRIPT}[key]


def _under_its_key(text: _Text, own: str) -> Finding:
    """Return the finding on a text that belongs under another key of ours."""
    message = f"this text is in {_KEYS[own]}, which stand under '{own}', not under '{text.key}'"
    if own == "sargam":
        message = f"this text is in {_KEYS[own]}, which stands under 'sargam', not '{text.key}'"
    to_key = Suggestion(_shown(own, text.passage.text), tuple(_key_edits(text, own)))
    tries = [to_key]
    if own in _SPELLING_OF and text.key == "sargam":
        spelling = [one for one in all_spellings() if one.name == _SPELLING_OF[own]]
        found = respelled(text.passage.text, text.known, spelling)
        tries += [] if found is None else [_suggestion(text, found)]
    return reading_rules.other_spelling(text.spot, message, tries)


def _as_sargam(text: _Text, found: Respelled) -> Finding:
    """Return the finding on a text that is in another spelling, with it as sargam."""
    meant = "the tones are S r R g G m M P d D n N, with ' above and , below"
    message = f"this text is in {found.spelling.title}; in sargam {meant}"
    if found.reasons:
        message += f" ({'; '.join(found.reasons)})"
    if found.unread:
        listed = ", ".join(f"'{clip(one, 20)}'" for one in found.unread[:4])
        message += f"; {listed} cannot be read"
    tries = [_suggestion(text, one) for one in (found, *found.others)]
    return reading_rules.other_spelling(text.spot, message, tries)


def _suggestion(text: _Text, found: Respelled) -> Suggestion:
    edits = _edits(text, found)
    if edits is not None and text.key != "sargam":
        renamed = _key_edits(text, "sargam")
        edits = [*renamed, *edits] if renamed else None
    plain = text.node.style is None and not _needs_quotes(text.node, found.text)
    block = text.node.style in ("|", ">")
    shown = _shown("sargam", found.text, in_quotes=not plain and not block)
    return Suggestion(shown, tuple(edits or ()))


def _shown(key: str, text: str, *, in_quotes: bool = False) -> str:
    """Return a text under its key, as a finding shows it."""
    rows = [row.strip()[:MOST_OF_ROW] for row in text.split("\n") if row.strip()]
    if len(rows) == 1:
        return f"{key}: {quoted(rows[0]) if in_quotes else rows[0]}"
    more = ["…"] if len(rows) > MOST_ROWS else []
    return "\n  ".join((f"{key}: |", *rows[:MOST_ROWS], *more))


def _key_edits(text: _Text, key: str) -> list[Edit]:
    """Return the edit that writes a text under another key; none where its key is not found right
    before it."""
    source, start = text.node.source, text.node.start
    found = re.search(rf"(?P<key>{text.key})\s*:\s*$", source.text[max(0, start - 200) : start])
    if found is None or _is_repaired(text.node):
        return []
    at = max(0, start - 200) + found.start("key")
    return [Edit(source.spot(at, len(text.key)), key)]


def _edits(text: _Text, found: Respelled) -> list[Edit] | None:
    """Return the edits that write a text in its new spelling, one for each place; None where YAML
    stands between."""
    node = text.node
    escaped = node.style == '"' and "\\" in node.source.text[node.start : node.end]
    if escaped or _is_repaired(node):
        return None
    if node.style is None and _needs_quotes(node, found.text):
        rows = " ".join(found.text.split("\n"))
        return [Edit(_whole(node), quoted(rows))]
    passage = text.passage
    written = ((one, passage.text[one.start : one.end]) for one in found.pieces)
    return [
        Edit(
            passage.spot(one.start, one.end - one.start),
            one.text.replace("'", "''") if node.style == "'" else one.text,
        )
        for one, old in written
        if old != one.text
    ]


def _whole(node: Scalar) -> Spot:
    """Return the place of the whole text of a node."""
    return node.source.spot(node.start, node.end - node.start)


def _is_repaired(node: Scalar) -> bool:
    """Return whether the text stands in rows that were mended in memory."""
    source = node.source
    first = source.spot(node.start).line - 1
    rows = range(first, first + source.text.count("\n", node.start, node.end) + 1)
    return any(row in source.quoted for row in rows)


def _needs_quotes(node: Scalar, text: str) -> bool:
    """Return whether a text without quotes would mean something else to YAML."""
    if _UNSAFE_START.match(text) or ": " in text or " #" in text or text.endswith(":"):
        return True
    before = node.source.text[max(0, node.start - 200) : node.start]
    return bool(_FLOW.search(before)) and any(sign in text for sign in ",[]{}")
