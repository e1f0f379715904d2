"""Reading one cell of a line: its elements with graces, decorations and glides, and its divisor."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property

from cyclechart.finding import Finding, Suggestion
from cyclechart.text import reading_rules
from cyclechart.text.chord_script import is_of_chord
from cyclechart.text.excerpts import clip
from cyclechart.text.line_tree import (
    MARKS,
    MAX_DIVISOR,
    MAX_ELEMENTS_IN_CELL,
    ORNAMENTS,
    Cell,
    Element,
)
from cyclechart.text.mark_reading import (
    marks_at,
    no_note,
    no_tone,
)
from cyclechart.text.near_names import nearest_names
from cyclechart.text.passage_edits import instead
from cyclechart.text.scripts import Script, Value, ends_inside
from cyclechart.text.source import PlacedText

SPACE_AFTER = "a space after "
MAX_FINDINGS = 30
MAX_CELL_TEXT = 1000
"""Characters. Sixteen elements with graces, marks and octaves stay far below."""


class CellReader:
    """Reads the cells of a passage in a script and collects the findings."""

    def __init__(self, passage: PlacedText, script: Script) -> None:
        self.passage = passage
        self.script = script
        self.findings: list[Finding] = []
        self.cells: dict[str, tuple[tuple[Element, ...], int] | None] = {}
        """What is read of each text of a cell: cells come again and again."""

    def instead(self, at: int, width: int, tries: Iterable[str]) -> list[Suggestion]:
        """Return things to try with the edits of those that are texts for some characters: a word,
        maybe with a remark behind it."""
        return [self.try_at(at, width, words) for words in tries]

    def try_at(self, at: int, width: int, words: str) -> Suggestion:
        """Return a thing to try in place of some characters."""
        if words.startswith(SPACE_AFTER):
            length = words.removeprefix(SPACE_AFTER)
            gap = self.passage.text.find(length, at) + len(length)
            return instead(self.passage, gap, 0, " ", words)
        new = words.split(" (")[0].split(", or ")[0]
        return Suggestion(words) if " " in new else instead(self.passage, at, width, new, words)

    def fault(self, finding: Finding) -> None:
        """Keep a finding, up to ``MAX_FINDINGS``."""
        if len(self.findings) < MAX_FINDINGS:
            self.findings.append(finding)

    def cell(self, text: str, start: int) -> Cell:
        if text not in self.cells:
            before = len(self.findings)
            read = self.elements(text, start)
            if len(self.findings) == before:
                self.cells[text] = read
        else:
            read = self.cells[text]
        elements, parts = read if read else ((Element("rest"),), 1)
        placed = tuple(replace(element, at=start + element.at) for element in elements)
        return Cell(placed, parts, start, len(text))

    def elements(self, text: str, start: int) -> tuple[tuple[Element, ...], int] | None:
        """The elements of a cell, their places from the cell's start, and its divisor."""
        if len(text) > MAX_CELL_TEXT:
            spot = self.passage.spot(start, MAX_CELL_TEXT)
            what = (
                f"a cell has at most {MAX_ELEMENTS_IN_CELL} elements; "
                f"this one has {len(text)} characters"
            )
            self.fault(reading_rules.too_long(spot, what, ["spread it over more beats"]))
            return None
        body, parts = self.divisor(text, start)
        found: list[Element] = []
        at = 0
        while at < len(body):
            if body[at] == "." and self.script.dotted:
                at += 1
                continue
            read = self.element(body, at, start)
            if read is None:
                return None
            found.extend(read)
            at = read[-1].at + read[-1].width
        if not found:
            self.fault(
                reading_rules.bad_cell(self.passage.spot(start, len(text)), f"'{text}' has no tone")
            )
            return None
        if len(found) > MAX_ELEMENTS_IN_CELL:
            spot = self.passage.spot(start, len(text))
            what = f"a cell has at most {MAX_ELEMENTS_IN_CELL} elements; this one has {len(found)}"
            self.fault(reading_rules.too_long(spot, what, ["spread it over more beats"]))
            return None
        return tuple(found), parts

    def divisor(self, text: str, start: int) -> tuple[str, int]:
        words = text.rfind('"!') + 2 if '"!' in text else 0  # a '/' in these is theirs
        body, slash, tail = text[words:].rpartition("/")
        if not slash or (self.script.find is not None and is_of_chord(body, tail)):
            return text, 1
        body = text[:words] + body
        spot = self.passage.spot(start + len(body), len(tail) + 1)
        if not tail.isascii() or not tail.isdigit() or not tail.strip("0"):
            what = f"'/' must be followed by a whole number, 1 or more, not '{clip(tail)}'"
            half = f"{clip(body)}/2"
            better = instead(self.passage, start + len(body), len(tail) + 1, "/2", half)
            if any(letter.isalpha() for letter in tail):  # they may be notes
                better = Suggestion(half)
            self.fault(reading_rules.bad_cell(spot, what, [better]))
            return body, 1
        if len(tail) > 4 or not 1 <= int(tail) <= MAX_DIVISOR:
            what = f"a cell can be divided by 1 to {MAX_DIVISOR}, not by {clip(tail, 12)}"
            self.fault(reading_rules.too_long(spot, what))
            return body, 1
        return body, int(tail)

    def element(self, body: str, at: int, start: int) -> list[Element] | None:
        """The element at an index, as a list of one (a run of drum syllables may give more)."""
        if body[at] == "-":
            return [Element("hold", at=at)]
        if body[at] == "z":
            return [Element("rest", at=at)]
        first = at
        glide_in = body[at] == "~"
        at += glide_in
        marks = marks_at(body, at, start, self.passage, self.marks)
        if isinstance(marks, Finding):
            self.fault(marks)
            return None
        before, at = at, marks.end
        grace: tuple[Value, ...] = ()
        if at < len(body) and body[at] == "{":
            read = self.grace(body, at, start)
            if read is None:
                return None
            grace, at = read
        if before < at < len(body) and body[at] in "-z":
            self.fault(no_note(body[before:at], body[at], start + at, self.passage))
            return None
        tones = self.tone(body, at, start)
        if tones is None:
            return None
        (value, end), *others = tones
        glide_out = end < len(body) and body[end] == "~" and not others
        end += glide_out
        if not self.script.pitched and (glide_in or glide_out):
            glide = start + (first if glide_in else end - 1)
            without = instead(self.passage, glide, 1, "", "leave out the ~")
            spot = self.passage.spot(glide)
            self.fault(reading_rules.bad_cell(spot, "a drum cannot glide", [without]))
            return None
        if self.script.find is not None and (glide_in or glide_out or grace):
            what = "a chord has no glide and no grace notes"
            spot = self.passage.spot(start + first, end - first)
            plain = self.instead(start + first, end - first, [self.script.write(value)])
            self.fault(reading_rules.bad_cell(spot, what, plain))
            return None
        note = Element(
            "note",
            value,
            grace,
            marks.names,
            text=marks.text,
            glide_in=glide_in,
            glide_out=glide_out,
            at=first,
            width=end - first,
        )
        more = []
        for other, stop in others:
            more.append(Element("note", other, at=end, width=stop - end))
            end = stop
        return [note, *more]

    @cached_property
    def marks(self) -> tuple[str, ...]:
        """The decorations that a note can have."""
        return tuple(m for m in MARKS if self.script.pitched or m not in ORNAMENTS)

    def grace(self, body: str, at: int, start: int) -> tuple[tuple[Value, ...], int] | None:
        close = body.find("}", at)
        if close < 0:
            self.fault(reading_rules.unclosed(self.passage.spot(start + at), "'{' is never closed"))
            return None
        values: list[Value] = []
        spot = at + 1
        while spot < close:
            if body[spot] == "." and self.script.name == "strokes":
                spot += 1
                continue
            tones = self.tone(body[:close], spot, start)
            if tones is None:
                return None
            values.extend(value for value, _ in tones)
            spot = tones[-1][1]
        if not 1 <= len(values) <= MAX_ELEMENTS_IN_CELL:
            where = self.passage.spot(start + at, close - at + 1)
            what = "grace notes go in { }, one to sixteen of them"
            self.fault(reading_rules.bad_cell(where, what, ["{R}S"]))
            return None
        return tuple(values), close + 1

    def tone(self, body: str, at: int, start: int) -> list[tuple[Value, int]] | None:
        """The tone at an index and where it ends."""
        if self.script.find is not None:
            found = self.script.find(body, at)
            if found is None:
                self.bad_symbol(body, at, start)
            return None if found is None else [found]
        match = self.script.tone.match(body, at)
        value = self.script.read(match[0]) if match else None
        if match is None or value is None:
            self.bad_tone(body, at, start, match[0] if match else "")
            return None
        if self.script.cut is not None:
            return self.syllables(str(value), at, start)
        return [(value, match.end())]

    def syllables(self, run: str, at: int, start: int) -> list[tuple[Value, int]] | None:
        """A run of letters cut into the catalogue's drum syllables."""
        assert self.script.cut is not None
        spot = self.passage.spot(start + at, len(run))
        if len(run) > 8 * MAX_ELEMENTS_IN_CELL:
            what = (
                f"{len(run)} letters without a break; a cell has at most {MAX_ELEMENTS_IN_CELL} "
                "syllables"
            )
            self.fault(reading_rules.too_long(spot, what, ["spread it over more beats"]))
            return None
        cuts = self.script.cut(run)
        if not cuts:
            self.fault(
                reading_rules.bad_cell(
                    spot,
                    f"'{clip(run)}' is not a drum syllable",
                    self.instead(start + at, len(run), self.near(run)),
                )
            )
            return None
        if len(cuts) > 1:
            dotted = self.instead(start + at, len(run), [".".join(cut) for cut in cuts[:4]])
            self.fault(reading_rules.two_readings(spot, run, dotted))
            return None
        placed: list[tuple[Value, int]] = []
        for syllable in cuts[0]:
            at += len(syllable)
            placed.append((syllable, at))
        return placed

    def near(self, run: str) -> list[str]:
        return [*nearest_names(run, self.script.known, 2)] or [self.script.hint]

    def bad_symbol(self, body: str, at: int, start: int) -> None:
        """Report what is no chord symbol, whole, with the nearest that there is."""
        assert self.script.mend is not None
        if at >= len(body):
            what = f"a chord is missing after '{body[-1:]}'"
            self.fault(reading_rules.bad_cell(self.passage.spot(start + at - 1), what))
            return
        wrong, what, tries = self.script.mend(body, at)
        first = max(0, body.rfind(wrong, 0, at + len(wrong)))
        spot = self.passage.spot(start + first, len(wrong))
        better = self.instead(start + first, len(wrong), tries)
        self.fault(reading_rules.bad_cell(spot, what.replace(wrong, clip(wrong)), better))

    def bad_tone(self, body: str, at: int, start: int, matched: str) -> None:
        if matched:
            spot = self.passage.spot(start + at, len(matched))
            if self.script.unread is not None:
                what, tries = self.script.unread(matched)
                better = self.instead(start + at, len(matched), tries)
                self.fault(reading_rules.bad_cell(spot, what, better))
                return
            what = f"'{matched}' is more than three octaves from Sa"
            if self.script.read(matched.rstrip("',")) is None:
                what = f"'{matched}' is not a tone of {self.script.name}"
            self.fault(reading_rules.bad_cell(spot, what, [self.script.hint]))
            return
        rest = body[at:]
        spot = self.passage.spot(start + min(at, len(body) - 1))
        if not rest:
            before = body[at - 1] if at else ""
            self.fault(no_tone(spot, before, self.passage.text[start + at : start + at + 1]))
        elif rest[0] in "}":
            self.fault(reading_rules.unclosed(spot, "'}' has no opening brace"))
        elif length := ends_inside(rest):
            what = f"{length} ends a cell: what follows it is a cell of its own"
            apart = self.instead(start + at, 1, [f"{SPACE_AFTER}{length}"])
            self.fault(reading_rules.bad_cell(spot, what, apart))
        else:
            from cyclechart.text.sign_names import named  # only a fault needs it

            noun = "a tone of" if self.script.pitched else "a drum of the"
            what = f"{named(rest[0])} is not {noun} {self.script.name}"
            better = self.instead(start + at, 1, self.tries(rest[0]))
            self.fault(reading_rules.bad_cell(spot, what, better))

    def tries(self, letter: str) -> list[str]:
        if self.script.name != "sargam":
            return [self.script.hint]
        swapped = letter.swapcase()
        if letter in "sp" and self.script.read(swapped) is not None:
            return [f"{swapped} (Sa and Pa have one form, written as a capital)"]
        if letter in "_=;:":
            return ["a held tone is written -, a rest z"]
        return [self.script.hint]
