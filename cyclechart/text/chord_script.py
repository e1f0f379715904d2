"""The script of chord symbols: roots in letters, which are counted from Sa, or in sargam."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

from cyclechart.text.mark_reading import WORDS
from cyclechart.text.scripts import Script, Value, ends_inside
from cyclechart.theory.chord_qualities import COMMON, degrees_of, nearest_qualities
from cyclechart.theory.chord_symbols import (
    DEGREE_ROOTS,
    ChordSymbol,
    RootNames,
    letter_roots,
    symbol_at,
    write_symbol,
)
from cyclechart.theory.spelling import Tonic

CHORDS = "chords"
"""The key of a text of chord symbols, and the name of its script."""

ONLY_LETTERS, ONLY_DEGREES = "ABCEF", "SrRgmMPdnN"
"""The roots that say which names a text has; D and G are in both."""

_NOISE = re.compile(
    rf"{WORDS}|(?:(?<=\s)|^)#(?=\s|$)[^\n]*|![^!\s]*!|(?<!\S)N\.?C\.?(?!\S)", re.MULTILINE
)
_BREAK = re.compile(r"[\s|\[\]().~-]+")
_REST = re.compile(r"[^\s.!~{}-]+")
_NO_CHORD = re.compile(r"N\.?C\.?", re.IGNORECASE)
_MOST_TRIES = 3

_PLAIN_CELL = r"[^\s|()\[\]]"
_IN_BRACKETS = (
    r"\((?:[#b♯♭+]?\d+(?:,?[#b♯♭+]\d+)*|maj7|ma7|M7|[Δ△]7?|add[#b♯♭]?\d+|(?:no|omit)\d|alt"
    r"|sus[24]?)\)"
)


@cache
def with_brackets(token: re.Pattern[str]) -> re.Pattern[str]:
    """Return the pattern of a line's tokens for chord symbols, in whose cells what is altered may
    stand in brackets: ``C7(b9)``."""
    wider = f"(?:{_PLAIN_CELL}|(?<={_PLAIN_CELL}){_IN_BRACKETS})"
    return re.compile(token.pattern.replace(f"|{_PLAIN_CELL})+)", f"|{wider})+)"))


def is_of_chord(body: str, tail: str) -> bool:
    """Return whether the ``/`` between two texts belongs to a chord symbol: before a bass, or in
    6/9."""
    in_quality = re.match(r"9(?!\d)", tail) and re.search(r"(?<!\d)6$", body)
    return not tail[:1].isdigit() or in_quality is not None


def is_in_degrees(text: str, tonic: Tonic) -> bool:
    """Return whether a text of chords has its roots in degrees: one of them is in sargam alone."""
    return _first_telling_root(text, letter_roots(tonic)) in ONLY_DEGREES


def chords_script(text: str, tonic: Tonic) -> Script:
    """Return the script of a text of chords: degrees where one of its roots is in sargam alone,
    else letters, counted from the Sa of the piece."""
    letters, degrees = letter_roots(tonic), DEGREE_ROOTS
    in_degrees = is_in_degrees(text, tonic)
    names, others = (degrees, letters) if in_degrees else (letters, degrees)
    known = "S r R g G m M P d D n N" if in_degrees else "A to G with # or b"
    hint = f"a chord is a root ({known}) with a quality: {'Pm7' if in_degrees else 'Dm7'}"

    def write(value: Value) -> str:
        assert isinstance(value, ChordSymbol)
        return write_symbol(value, names)

    return Script(
        name=CHORDS,
        dotted=True,
        tone=names.pattern,
        read=lambda _: None,
        write=write,
        hint=hint,
        find=lambda body, at: symbol_at(body, at, names),
        mend=_mender(names, others, hint, in_degrees=in_degrees),
    )


def _first_telling_root(text: str, letters: RootNames) -> str:
    """Return the first root that is in letters alone or in sargam alone; D where there is none."""
    # What is altered may stand in brackets, which says nothing of roots.
    plain = re.sub(f"(?<={_PLAIN_CELL}){_IN_BRACKETS}", "", _NOISE.sub(" ", text))
    for chunk in _BREAK.split(plain):
        at = 0
        while at < len(chunk):
            names = letters if chunk[at] in "ABCDEFG" else DEGREE_ROOTS
            found = symbol_at(chunk, at, names)
            if chunk[at] == "z":
                at += 1
                continue
            if found is None:
                break
            if chunk[at] not in "DG":
                return chunk[at]
            at = found[1]
    return "D"


def _mender(
    names: RootNames, others: RootNames, hint: str, *, in_degrees: bool
) -> Callable[[str, int], tuple[str, str, list[str]]]:
    """Return what says of the text at an index of a cell why it is no chord, and what is."""

    def mend(body: str, at: int) -> tuple[str, str, list[str]]:
        begin = at
        if at >= 2 and body[at - 1] == "-":  # C-7: a minor chord in many hands
            begin = at - 2
            while begin and symbol_at(body, begin, names) is None:
                begin -= 1
        elif at and symbol_at(body, at, names) is None:
            begin = _start_of_symbol(body, at, names)
        match = _REST.match(body, at)
        wrong = body[begin : match.end() if match else len(body)] or body[at:]
        if _NO_CHORD.fullmatch(body):
            return body, "no chord is written z", ["z"]
        if wrong.strip("%") == "":
            return wrong, "a chord that goes on is written -", ["-"]
        other = symbol_at(body, at, others)
        if other is not None and begin == at and body[at] not in "DG":
            here, there = ("degrees", "letters") if in_degrees else ("letters", "degrees")
            what = f"'{wrong}' is in {there}, but the roots before it are in {here}"
            return wrong, what, [f"write all roots of the text in {here}"]
        symbol, slash, bass = wrong.rpartition("/")
        whole = symbol_at(symbol, 0, names)
        if slash and whole is not None and whole[1] == len(symbol):
            if length := ends_inside(slash + bass):
                what = f"{length} ends a cell: what follows it is a cell of its own"
                return wrong, what, [f"a space after {length}"]
            what = f"'{bass}' is no bass" if bass else f"a bass is missing after '{symbol}/'"
            return wrong, what, [f"{symbol}/{names.write(0, None)}, or {symbol} alone"]
        return wrong, f"'{wrong}' is not a chord symbol", _tries(wrong, names) or [hint]

    return mend


def _start_of_symbol(body: str, at: int, names: RootNames) -> int:
    """Return where the symbol begins that what cannot be read at an index is written onto."""
    nearest = at
    for begin in range(at - 1, max(-1, at - 12), -1):
        found = symbol_at(body, begin, names)
        root = names.pattern.match(body, begin)
        if found is None or root is None or body[begin - 1 : begin] == "/":
            continue
        if found[1] == at and nearest == at:
            nearest = begin
        if any(nearest_qualities(body[root.end() :])):
            return begin
    return nearest


def _tries(wrong: str, names: RootNames) -> list[str]:
    """Return the nearest chord symbols to one that cannot be read."""
    root = names.pattern.match(wrong) or names.pattern.match(wrong[:1].upper() + wrong[1:])
    if root is None and wrong[0] in "Hh" and names is not DEGREE_ROOTS:
        wrong = f"B{wrong[1:]}"  # as it is called in the north of Europe
        root = re.match("B", wrong)
    if root is None:
        return []
    quality = wrong[root.end() :].split("/")[0]
    near = list(nearest_qualities(quality))
    if degrees_of(quality) is not None:
        near = [quality]
    if not near:
        near = sorted(
            (one for one in COMMON if one and _shares(one, quality)),
            key=lambda one: _distance(one, quality),
        )
    return [root[0] + one for one in dict.fromkeys(near)][:_MOST_TRIES]


def _shares(one: str, other: str) -> bool:
    """Return whether a quality is near enough to what is written to be meant."""
    return _distance(one, other) <= max(2, len(other) // 2)


def _distance(one: str, other: str) -> int:
    """Return the fewest changed characters between two short texts (Levenshtein)."""
    row = list(range(len(other) + 1))
    for at, char in enumerate(one, start=1):
        before, row[0] = row[0], at
        for place, mate in enumerate(other, start=1):
            before, row[place] = (
                row[place],
                min(row[place] + 1, row[place - 1] + 1, before + (char != mate)),
            )
    return row[-1]
