"""Reading the text of a line into its tree. A bad cell becomes a rest and a finding; reading goes
on, so that every mistake of a line is found in one run and the beats after it still count right.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.chord_script import is_of_chord, with_brackets
from cyclechart.text.excerpts import clip
from cyclechart.text.line_tree import (
    MARKS,
    MAX_DEPTH,
    MAX_DIVISOR,
    MAX_ELEMENTS_IN_CELL,
    MAX_SPEED,
    MAX_TIMES,
    ORNAMENTS,
    SPEEDS,
    Cell,
    Element,
    Group,
    Item,
    Repeat,
    SectionMark,
    Slur,
)
from cyclechart.text.mark_reading import (
    WORDS,
    has_open_words,
    marks_at,
    no_note,
    no_tone,
    slur_fault,
)
from cyclechart.text.near_names import nearest_names
from cyclechart.text.scripts import Script, Value
from cyclechart.text.source import PlacedText

MAX_CELLS = 50_000
MAX_FINDINGS = 30
MAX_CELL_TEXT = 1000
"""Characters. Sixteen elements with graces, marks and octaves stay far below."""

_TOKEN = re.compile(
    r"(?P<space>\s+)"
    r"|(?P<bar>\|\|?)"
    r"|(?P<open>[\[(])"
    r"|(?P<close>\](?P<speed>[^\s|()\[\]]*)|\)(?P<times>[^\s|()\[\]]*))"
    rf"|(?P<cell>(?:{WORDS}|\{{[^{{}}\s]*\}}|[^\s|()\[\]])+)"
)
_COMMENT = re.compile(rf"(?P<words>{WORDS})|(?:(?<=\s)|^)#(?=\s|$)[^\n]*", re.MULTILINE)
_RATIO = re.compile(r"x(\d{1,9})(?:/(\d{1,9}))?")


def read_line(passage: PlacedText, script: Script) -> tuple[tuple[Item, ...], list[Finding]]:
    """The tree of a line's text, and what is wrong in it."""
    return _LineReader(passage, script).line()


class _LineReader:
    def __init__(self, passage: PlacedText, script: Script) -> None:
        self.passage = passage
        self.script = script
        self.token = _TOKEN if script.find is None else with_brackets(_TOKEN)
        self.findings: list[Finding] = []
        self.text = _COMMENT.sub(lambda match: match["words"] or " " * len(match[0]), passage.text)
        self.cells: dict[str, tuple[tuple[Element, ...], int] | None] = {}
        self.findings_before: dict[int, int] = {}
        """How many findings there were where each bracket is opened, by its place."""

    def fault(self, finding: Finding) -> None:
        if len(self.findings) < MAX_FINDINGS:
            self.findings.append(finding)

    def line(self) -> tuple[tuple[Item, ...], list[Finding]]:
        stack: list[tuple[str, int, list[Item]]] = [("", 0, [])]
        count = 0
        stopped = False
        text = self.text
        at = 0
        while at < len(text):
            match = self.token.match(text, at)
            if match is None:  # a lone brace: the cell pattern takes everything else
                self.fault(reading_rules.unclosed(self.passage.spot(at), f"a stray '{text[at]}'"))
                at += 1
                continue
            start, at = at, match.end()
            kind = match.lastgroup
            if kind == "space":
                continue
            count += 1
            if count > MAX_CELLS:
                what = f"a line has at most {MAX_CELLS:,} cells"
                self.fault(reading_rules.too_long(self.passage.spot(start), what))
                stopped = True
                break
            if match["cell"] is not None:
                stack[-1][2].append(self.cell(match["cell"], start))
                if has_open_words(match["cell"]):  # what follows may be words too
                    at = (text + "\n").index("\n", at)
            elif match["bar"] is not None:
                self.bar(match["bar"], start, stack)
            elif match["open"] is not None:
                if len(stack) > MAX_DEPTH:
                    what = f"groups and repeats nest at most {MAX_DEPTH} deep"
                    self.fault(reading_rules.too_long(self.passage.spot(start), what))
                    stopped = True
                    break
                stack.append((match["open"], start, []))
                self.findings_before[start] = len(self.findings)
            else:
                self.close(match, start, stack)
        while len(stack) > 1:
            opened, start, items = stack.pop()
            stack[-1][2].extend(items)
            if stopped:  # what would close it was not read
                continue
            closing = "]x3/2" if opened == "[" else ")*3, or ) for a slur"
            what = f"'{opened}' is never closed"
            self.fault(
                reading_rules.unclosed(self.passage.spot(start), what, [f"close it: {closing}"])
            )
        return tuple(stack[0][2]), self.findings

    def bar(self, text: str, start: int, stack: list[tuple[str, int, list[Item]]]) -> None:
        if any(opened == "[" for opened, _, _ in stack):
            what = "a section line cannot be inside a [ ] group"
            self.fault(
                reading_rules.bad_cell(self.passage.spot(start, len(text)), what, ["take it out"])
            )
            return
        stack[-1][2].append(SectionMark(text == "||", start))

    def close(
        self, match: re.Match[str], start: int, stack: list[tuple[str, int, list[Item]]]
    ) -> None:
        text = match[0]
        spot = self.passage.spot(start, len(text))
        wanted = "[" if text[0] == "]" else "("
        if len(stack) == 1 or stack[-1][0] != wanted:
            inside = f" ('{stack[-1][0]}' is open)" if len(stack) > 1 else ""
            self.fault(reading_rules.unclosed(spot, f"'{text[0]}' has no opening bracket{inside}"))
            return
        _, opened, items = stack.pop()
        width = start + len(text) - opened
        if wanted == "[":
            speed = self.speed(match["speed"] or "", start)
            word = match["speed"] if match["speed"] in SPEEDS else ""
            stack[-1][2].append(Group(tuple(items), speed, opened, width, word))
        elif not match["times"]:
            slur = Slur(tuple(items), opened, width)
            fault = slur_fault(slur, self.passage)
            if fault is not None and len(self.findings) == self.findings_before[opened]:
                self.fault(fault)
            stack[-1][2].append(slur)
        else:
            times = self.times(match["times"], start)
            stack[-1][2].append(Repeat(tuple(items), times, opened, width))

    def speed(self, text: str, start: int) -> Fraction:
        spot = self.passage.spot(start, 1 + len(text))
        if text in SPEEDS:
            return SPEEDS[text]
        ratio = _RATIO.fullmatch(text)
        if ratio and int(ratio[1]) and int(ratio[2] or 1):
            speed = Fraction(int(ratio[1]), int(ratio[2] or 1))
            if Fraction(1, MAX_SPEED) <= speed <= MAX_SPEED:
                return speed
            what = f"a speed must be 1/{MAX_SPEED} to {MAX_SPEED}, not {speed}"
            self.fault(reading_rules.too_long(spot, what))
            return Fraction(1)
        close = nearest_names(text, SPEEDS, 1)
        tries = [f"]{word}" for word in close] or ["]x3/2, or ]dugun, ]tigun, ]chaugun"]
        what = f"']' must be followed by the speed of the group, not '{clip(text)}'"
        self.fault(
            reading_rules.bad_cell(
                spot, what if text else "the group has no speed after ']'", tries
            )
        )
        return Fraction(1)

    def times(self, text: str, start: int) -> int:
        spot = self.passage.spot(start, 1 + len(text))
        match = re.fullmatch(r"\*(\d{1,9})", text)
        if match and 1 <= int(match[1]) <= MAX_TIMES:
            return int(match[1])
        if match:
            what = f"a repeat can be played 1 to {MAX_TIMES} times, not {match[1]}"
            self.fault(reading_rules.too_long(spot, what))
        else:
            what = "')' must be followed by the number of times, or by a space: that is a slur"
            self.fault(reading_rules.bad_cell(spot, what, [")*3", "(P m G)"]))
        return 1

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
            self.fault(reading_rules.bad_cell(spot, what, [f"{clip(body)}/2"]))
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
        if not self.script.pitched and self.glides(body, first, start):
            return None
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
        if self.script.find is not None and (glide_in or glide_out or grace):
            what = "a chord has no glide and no grace notes"
            spot = self.passage.spot(start + first, end - first)
            self.fault(reading_rules.bad_cell(spot, what, [self.script.write(value)]))
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

    @property
    def marks(self) -> tuple[str, ...]:
        """The decorations that a note can have."""
        return tuple(m for m in MARKS if self.script.pitched or m not in ORNAMENTS)

    def glides(self, body: str, at: int, start: int) -> bool:
        """Return whether a cell without pitches has a glide from an index on; report it."""
        glide = body.find("~", at)
        if glide >= 0:
            spot = self.passage.spot(start + glide)
            self.fault(reading_rules.bad_cell(spot, "a drum cannot glide", ["leave out the ~"]))
        return glide >= 0

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
                    spot, f"'{clip(run)}' is not a drum syllable", self.near(run)
                )
            )
            return None
        if len(cuts) > 1:
            self.fault(reading_rules.two_readings(spot, run, [".".join(cut) for cut in cuts[:4]]))
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
        self.fault(reading_rules.bad_cell(spot, what.replace(wrong, clip(wrong)), tries))

    def bad_tone(self, body: str, at: int, start: int, matched: str) -> None:
        if matched:
            spot = self.passage.spot(start + at, len(matched))
            if self.script.unread is not None:
                self.fault(reading_rules.bad_cell(spot, *self.script.unread(matched)))
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
            self.fault(no_tone(spot, before, self.text[start + at : start + at + 1]))
        elif rest[0] in "}":
            self.fault(reading_rules.unclosed(spot, "'}' has no opening brace"))
        else:
            noun = "a tone of" if self.script.pitched else "a drum of the"
            what = f"'{rest[0]}' is not {noun} {self.script.name}"
            self.fault(reading_rules.bad_cell(spot, what, self.tries(rest[0])))

    def tries(self, letter: str) -> list[str]:
        if self.script.name != "sargam":
            return [self.script.hint]
        swapped = letter.swapcase()
        if letter in "sp" and self.script.read(swapped) is not None:
            return [f"{swapped} (Sa and Pa have one form, written as a capital)"]
        if letter in "_=;:":
            return ["a held tone is written -, a rest z"]
        return [self.script.hint]
