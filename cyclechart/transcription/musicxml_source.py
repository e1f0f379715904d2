"""A MusicXML file, packed or not, as XML that is safe to read: checked for its size, its nesting
and its durations before anything is built of it."""

from __future__ import annotations

import io
import zipfile
import zlib
from typing import Any, TypeAlias

from lxml import etree

from cyclechart.transcription.refusal import LONGEST, MOST_BYTES, CannotRead

MOST_FILES = 500
MOST_SCORE_NOTES = 30_000
MOST_IN_MEASURE = 1000
MOST_PARTS = 120
LONGEST_NOTE = 1000
"""Quarter notes."""
MOST_DIVISIONS = 2**31 - 1
"""MusicXML names no limit; programs keep them in 32 bits."""

_BROKEN = (NotImplementedError, RuntimeError, EOFError, ValueError, KeyError, OSError)
"""What the library of packed files raises beside its own error."""

Element: TypeAlias = etree._Element


def musicxml_root(data: bytes) -> Element:
    """Return the checked root of a score by parts, of the bytes of a .musicxml, .xml or .mxl."""
    root = _parsed(_unpacked(data) if data[:2] == b"PK" else data)
    if root.tag == "score-timewise":
        _by_parts(root)
    if root.tag != "score-partwise":
        name = str(root.tag)[:40]
        what = f"it is XML, but not MusicXML: its outermost element is '{name}'"
        raise CannotRead(what, "line 1", "export the tune as MusicXML")
    _check_counts(root)
    _check_durations(root)
    return root


def _unpacked(data: bytes) -> bytes:
    """Return the score of a packed file, as its container (or the first name that fits) says."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            infos = packed.infolist()
            if len(infos) > MOST_FILES or sum(one.file_size for one in infos) > MOST_BYTES:
                raise CannotRead("it is too large when it is unpacked")
            names = [one.filename for one in infos]
            inside = [name for name in names if not name.startswith(("META-INF/", "__MACOSX"))]
            scores = [name for name in inside if name.lower().endswith((".xml", ".musicxml"))]
            if "META-INF/container.xml" in names:
                named = _rootfile(_file_in(packed, "META-INF/container.xml"))
                scores = [name for name in (named,) if name in names] or scores
            if not scores:
                raise CannotRead("there is no score in this packed file")
            return _file_in(packed, scores[0])
    except (zipfile.BadZipFile, zlib.error, *_BROKEN) as error:
        raise CannotRead("the packed file is broken", "", "export the tune again") from error


def _file_in(packed: zipfile.ZipFile, name: str) -> bytes:
    """Return a file of a packed one, read no further than the largest that is allowed."""
    with packed.open(name) as file:
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise CannotRead("it is too large when it is unpacked")
    return data


def _rootfile(container: bytes) -> str:
    """Return the first score that the container names."""
    root = _parsed(container)
    for one in root.iter("{*}rootfile"):
        return str(one.get("full-path", ""))
    return ""


def _parsed(data: bytes) -> Element:
    """Return the root of XML without entities, DTD or network."""
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    if not data.strip():
        raise CannotRead("the file is empty")
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise CannotRead("this is not well-formed XML", f"line {error.lineno or 1}") from error
    inside: Any = root.getroottree().docinfo.internalDTD
    if inside is not None and any(True for _ in inside.iterentities()):
        raise CannotRead("it defines entities of its own, which no score needs", "line 1")
    for entity in root.iter(etree.Entity):
        raise CannotRead("it has entities that are defined nowhere", f"line {entity.sourceline}")
    return root


def _by_parts(root: Element) -> None:
    """Turn a score by measures into one by parts, in place."""
    parts: dict[str, Element] = {}
    measures = [one for one in root if one.tag == "measure"]
    for measure in measures:
        root.remove(measure)
        for part in list(measure):
            if part.tag != "part":
                continue
            name = str(part.get("id"))
            if name not in parts:
                parts[name] = etree.SubElement(root, "part", id=name)
            inner = etree.SubElement(parts[name], "measure")
            for key, value in measure.attrib.items():
                inner.set(key, value)
            inner.extend(list(part))
    root.tag = "score-partwise"


def _check_counts(root: Element) -> None:
    parts = sum(1 for _ in root.iterfind("part"))
    notes = sum(1 for _ in root.iterfind("part/measure/note"))
    if not parts or not notes:
        raise CannotRead("there is no note in it")
    if parts > MOST_PARTS:
        raise CannotRead(f"it has {parts} parts; at most {MOST_PARTS} can be read")
    if notes > MOST_SCORE_NOTES:
        raise CannotRead(f"it has {notes:,} notes; at most {MOST_SCORE_NOTES:,} can be read")


def _check_durations(root: Element) -> None:
    """Refuse lengths that are no number, or that nobody could play."""
    for part in root.iterfind("part"):
        divisions, total = 1.0, 0.0
        for measure in part.iterfind("measure"):
            where = f"measure {str(measure.get('number', '?'))[:12]}"
            if sum(1 for _ in measure.iterfind("note")) > MOST_IN_MEASURE:
                raise CannotRead(f"it has more than {MOST_IN_MEASURE:,} notes", where)
            for one in measure.iterfind("attributes/divisions"):
                divisions = _number(one, where, MOST_DIVISIONS)
                if divisions <= 0:
                    raise CannotRead("a quarter note must have at least one division", where)
            for one in measure.iterfind("*/duration"):
                length = _number(one, where, LONGEST_NOTE * divisions) / divisions
                parent = one.getparent()
                if parent is not None and parent.tag != "backup":
                    total += length
            for name in ("beats", "beat-type"):
                for one in measure.iterfind(f"attributes/time/{name}"):
                    for text in str(one.text or "").split("+"):
                        if not text.strip().isdigit() or not 0 < int(text) <= 256:
                            raise CannotRead(f"'{text[:12]}' is no part of a time signature", where)
        # Voices beside one another, notes of chords: together not a hundred times the tune.
        if total > 100 * LONGEST:
            raise CannotRead(f"it lasts more than {LONGEST:,} quarter notes")


def _number(one: Element, where: str, most: float) -> float:
    text = str(one.text or "").strip()
    try:
        value = float(text) if len(text) <= 20 else -1.0
    except ValueError:
        value = -1.0
    if not 0 <= value <= most:
        raise CannotRead(f"'{text[:20]}' cannot be a {one.tag}", where)
    return value


def is_own(root: Element) -> bool:
    """Return whether cyclechart itself wrote a score."""
    software = root.findtext("identification/encoding/software", "")
    return str(software).startswith("cyclechart")


def tidy_own(root: Element) -> None:
    """Leave out of a score of our own what a reader knows from the cycle: claps, waves, names.

    Sections get the name of their line in place of a letter.
    """
    for direction in list(root.iterfind("part/measure/direction")):
        letter = direction.find("direction-type/rehearsal")
        words = list(direction.iterfind("direction-type/words"))
        if letter is not None:
            if words and words[0].text:
                letter.text = words[0].text.split(",")[0]
        elif words and direction.find("sound") is None:
            parent = direction.getparent()
            assert parent is not None
            parent.remove(direction)
    for style in root.iterfind("part/measure/barline/bar-style"):
        if style.text == "light-light":
            style.text = "regular"  # each line has its name where it begins
    for note in root.iterfind("part/measure/note"):
        for lyric in note.iterfind("lyric"):
            _number_from_text(lyric)


def _number_from_text(lyric: Element) -> None:
    """Take the number of a verse from before its first syllable."""
    text = lyric.find("text")
    if text is not None and text.text:
        number, space, rest = text.text.partition("\N{NO-BREAK SPACE}")
        if space and number.rstrip(".").isdigit():
            text.text = rest
