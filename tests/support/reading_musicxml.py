"""Reading MusicXML back: against its schema, and measure by measure without our writer's help."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

Element = etree._Element


def _folder(package: str) -> Path:
    spec = find_spec(package)
    assert spec is not None and spec.submodule_search_locations
    return Path(next(iter(spec.submodule_search_locations)))


class _Local(etree.Resolver):
    """The two schemas that MusicXML's imports, from a package that brings them along."""

    def resolve(self, system_url: str, public_id: str, context: object) -> object:  # type: ignore[override]
        schemas = _folder("xmlschema") / "schemas"
        for name, place in (("xlink.xsd", "XLINK"), ("xml.xsd", "XML")):
            if str(system_url).endswith(name):
                return self.resolve_filename(str(schemas / place / name), context)
        return None


@lru_cache(maxsize=1)
def schema() -> etree.XMLSchema:
    """The schema of MusicXML 4.0, as the PyPI package ``musicxml`` ships it."""
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Local())
    place = _folder("musicxml") / "generate_classes" / "musicxml_4_0.xsd"
    return etree.XMLSchema(etree.parse(str(place), parser))


def parsed(data: bytes) -> Element:
    """The file as a tree; it must be valid."""
    root = etree.fromstring(data)
    schema().assertValid(root)
    return root


def texts(root: Element, path: str) -> list[str]:
    """The texts of all elements at a path."""
    return [str(element.text) for element in root.iterfind(path)]


def measure_beats(measure: Element, divisions: int) -> Fraction:
    """Return the total length of the notes and rests of a measure, in quarters; a second voice
    that goes back for its beginning fills as much."""
    notes = [note for note in voices(measure)[0] if note.find("chord") is None]
    times = [int(str(time.text)) for note in notes for time in note.iterfind("duration")]
    backs = [int(str(back.findtext("duration"))) for back in measure.iterfind("backup")]
    assert backs in ([], [sum(times)])
    for other in voices(measure)[1:]:
        plain = [note for note in other if note.find("chord") is None]
        assert sum(int(str(note.findtext("duration"))) for note in plain) == sum(times)
    return Fraction(sum(times), divisions)


def voices(measure: Element) -> list[list[Element]]:
    """Return the notes and rests of each voice of a measure: a further one begins at a backup."""
    found: list[list[Element]] = [[]]
    for element in measure:
        if element.tag == "backup":
            found.append([])
        elif element.tag == "note":
            found[-1].append(element)
    return found


def check_measure(measure: Element) -> None:
    """In each voice tuplets open and close in turn, and beams of each level begin and end."""
    for voice in voices(measure):
        _check_voice(voice)


def _check_voice(notes: list[Element]) -> None:
    inside = False
    for tuplet in (found for note in notes for found in note.iterfind("notations/tuplet")):
        assert (tuplet.get("type") == "start") != inside
        inside = tuplet.get("type") == "start"
    assert not inside
    for level in "12345678":
        beamed = False
        for note in notes:
            if note.get("print-object") == "no":
                continue  # a beam goes on over what is not drawn
            if note.find("grace") is not None or note.find("chord") is not None:
                continue
            word = note.findtext(f"beam[@number='{level}']") or ""
            assert (word in ("continue", "end")) == beamed
            beamed = word in ("begin", "continue")
        assert not beamed


def check_ties(part: Element) -> None:
    """Check that every tied note goes on in the next note, at the same pitch."""
    held: str | None = None
    for note in part.iterfind("measure/note"):
        if note.find("grace") is not None:
            continue
        kinds = [tie.get("type") for tie in note.iterfind("tie")]
        drawn = [tie.get("type") for tie in note.iterfind("notations/tied")]
        assert kinds == drawn
        tone = note.find("pitch")
        name = "" if tone is None else "".join(tone.itertext())
        assert ("stop" in kinds) == (held is not None)
        if held is not None:
            assert held == name
        held = name if "start" in kinds else None
    assert held is None
