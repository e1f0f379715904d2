"""Reading the text of a line into its tree. A bad cell becomes a rest and a finding; reading goes
on, so that every mistake of a line is found in one run and the beats after it still count right.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from cyclechart.finding import Finding, Suggestion
from cyclechart.text import reading_rules
from cyclechart.text.cell_reading import CellReader
from cyclechart.text.chord_script import with_brackets
from cyclechart.text.excerpts import clip
from cyclechart.text.line_tree import (
    MAX_DEPTH,
    MAX_SPEED,
    MAX_TIMES,
    SPEEDS,
    Group,
    Item,
    Repeat,
    SectionMark,
    Slur,
)
from cyclechart.text.mark_reading import (
    WORDS,
    has_open_words,
    slur_fault,
)
from cyclechart.text.near_names import nearest_names
from cyclechart.text.passage_edits import instead
from cyclechart.text.scripts import Script
from cyclechart.text.source import PlacedText

MAX_CELLS = 50_000


_TOKEN = re.compile(
    r"(?P<space>\s+)"
    r"|(?P<bar>\|\|?)"
    r"|(?P<open>[\[(])"
    r"|(?P<close>\](?P<speed>[^\s|()\[\]]*)|\)(?P<times>[^\s|()\[\]]*))"
    rf"|(?P<cell>(?:{WORDS}|\{{[^{{}}\s]*\}}|[^\s|()\[\]])+)"
)
_COMMENT = re.compile(rf"(?P<words>{WORDS})|(?:(?<=\s)|^)#(?=\s|$)[^\n]*", re.MULTILINE)
_RATIO = re.compile(r"x(\d{1,9})(?:/(\d{1,9}))?")


def comments_in(text: str) -> Iterator[tuple[int, int]]:
    """Yield where each comment of a line's text begins and ends."""
    return (match.span() for match in _COMMENT.finditer(text) if match["words"] is None)


def read_line(passage: PlacedText, script: Script) -> tuple[tuple[Item, ...], list[Finding]]:
    """The tree of a line's text, and what is wrong in it."""
    return _LineReader(passage, script).line()


class _LineReader(CellReader):
    """Reads cells, bars, groups, repeats and slurs, one after the other."""

    def __init__(self, passage: PlacedText, script: Script) -> None:
        super().__init__(passage, script)
        self.token = _TOKEN if script.find is None else with_brackets(_TOKEN)
        self.text = _COMMENT.sub(lambda match: match["words"] or " " * len(match[0]), passage.text)
        self.findings_before: dict[int, int] = {}
        """How many findings there were where each bracket is opened, by its place."""

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
                reading_rules.bad_cell(
                    self.passage.spot(start, len(text)),
                    what,
                    [instead(self.passage, start, len(text), "", "take it out")],
                )
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
        tries = self.instead(start, 1 + len(text), (f"]{word}" for word in close))
        tries = tries or [Suggestion("]x3/2, or ]dugun, ]tigun, ]chaugun")]
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
