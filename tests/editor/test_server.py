"""The language server, driven by a client that speaks the protocol."""

from __future__ import annotations

from collections.abc import AsyncIterator
from itertools import count
from pathlib import Path

import pytest
import pytest_lsp
from lsprotocol import types
from pytest_lsp import ClientServerConfig, LanguageClient
from support.editor_client import COMMAND, OpenText
from support.making import DEMO_BOOK, with_heading

from cyclechart.draft.tidy import tidied
from cyclechart.text.source import Source

pytestmark = pytest.mark.asyncio(loop_scope="module")

PIECE = with_heading(
    "lines:\n"
    "  head:\n"
    "    sargam: |\n"
    "      S R | G m P | d N | S' n d ||\n"
    "      P - | m G R | S - | n, S - ||\n"
    "      S\n"
    "  low: {from: head, move: -2}\n"
    "  tag:\n"
    "    cadence: {line: head}\n"
    "form:\n"
    "  - play: head\n"
    "    times: 2\n"
    "  - play: {melody: low}\n"
    "    under: none\n"
)


_NUMBERS = count()


@pytest_lsp.fixture(
    scope="module", loop_scope="module", config=ClientServerConfig(server_command=COMMAND)
)
async def client(lsp_client: LanguageClient) -> AsyncIterator[None]:
    await lsp_client.initialize_session(
        types.InitializeParams(capabilities=types.ClientCapabilities())
    )
    yield
    await lsp_client.shutdown_session()


async def opened(client: LanguageClient, text: str = PIECE) -> OpenText:
    """A text in the editor; each has a name of its own."""
    open_text = OpenText(client, text, uri=f"untitled:{next(_NUMBERS)}")
    await open_text.opened()
    return open_text


async def test_findings_come_as_the_text_changes(client: LanguageClient) -> None:
    text = await opened(client)
    found = client.diagnostics[text.uri]
    (foreign,) = [one for one in found if one.code == "foreign-tone"]
    assert foreign.severity == types.DiagnosticSeverity.Error
    assert foreign.range == text.range("N | S'", 0, 1)
    assert "head, cycle 1, beat 7: N is not in Charukeshi" in foreign.message
    assert "\ntry: write n for N" in foreign.message
    found = await text.changed(PIECE.replace("d N", "d n"))
    assert "foreign-tone" not in {one.code for one in found}


async def test_a_burst_of_changes_is_answered_for_the_last(client: LanguageClient) -> None:
    text = await opened(client)
    for version, tone in enumerate("GmPd", start=1):
        document = types.VersionedTextDocumentIdentifier(uri=text.uri, version=version)
        change = types.TextDocumentContentChangeWholeDocument(PIECE.replace("d N", f"d {tone}"))
        client.text_document_did_change(types.DidChangeTextDocumentParams(document, [change]))
    text.version = 4
    found = await text.changed(PIECE.replace("d N", "d M"))
    foreign = [one.message for one in found if one.code == "foreign-tone"]
    assert any(one.startswith("head, cycle 1, beat 7: M is not") for one in foreign)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "lines:",
        "lines: [",
        "lines:\n  head:\n    sargam: |\n      S R [",
        "lines:\n  head:\n    sargam: {",
        "lines:\n  - head\nform: {a: b}",
        "lines:\n\thead:",
        "title: \ud800x\nlines: {}",
        "\ufefftitle: x\ntonic: D\nlines: {head: {sargam: S}}",
        "lines: " + "[" * 3000,
        "lines:\n  a: &a [*a, *a]\n  b: *a",
        "lines:\n  head:\n    sargam: |\n" + "      S R G m\n" * 3 + "    words: [",
        'lines: {head: {sargam: "S\\x00 R"}}\nform: [play: head, {solo: }]',
        "title: x\x00\x0c\u2028\nlines:\n  a: {sargam: S}",
    ],
)
async def test_a_broken_text_does_not_end_the_server(client: LanguageClient, text: str) -> None:
    """Everything is asked at every few places, and the server still answers about a sound text."""
    broken = await opened(client, text)
    messages = len(client.log_messages)
    for offset in range(0, min(len(text), 120) + 1, 7):
        at = broken.position(offset) if text.isprintable() else types.Position(0, offset)
        here = types.TextDocumentPositionParams(broken.id, at)
        await client.text_document_completion_async(types.CompletionParams(broken.id, at))
        await client.text_document_hover_async(types.HoverParams(broken.id, at))
        await client.text_document_definition_async(types.DefinitionParams(broken.id, at))
        await client.text_document_prepare_rename_async(
            types.PrepareRenameParams(here.text_document, here.position)
        )
    whole = types.Range(types.Position(0, 0), types.Position(999, 999))
    context = types.CodeActionContext(diagnostics=[])
    await client.text_document_code_action_async(types.CodeActionParams(broken.id, whole, context))
    await client.text_document_inlay_hint_async(types.InlayHintParams(broken.id, whole))
    await client.text_document_document_symbol_async(types.DocumentSymbolParams(broken.id))
    options = types.FormattingOptions(tab_size=2, insert_spaces=True)
    await client.text_document_formatting_async(types.DocumentFormattingParams(broken.id, options))
    assert [one.message for one in client.log_messages[messages:]] == []
    sound = await opened(client)
    assert any(one.code == "foreign-tone" for one in client.diagnostics[sound.uri])


async def test_other_yaml_gets_no_findings(client: LanguageClient) -> None:
    text = await opened(client, "services:\n  web:\n    image: nginx\nmode: 3\n")
    assert list(client.diagnostics[text.uri]) == []


async def labels(text: OpenText, at: types.Position) -> list[str]:
    params = types.CompletionParams(text.id, at)
    found = await text.client.text_document_completion_async(params)
    assert isinstance(found, types.CompletionList)
    return [item.label for item in found.items]


@pytest.mark.parametrize(
    ("more", "some"),
    [
        ("te|", ["tempo", "tuning"]),
        ("mode: cha|", ["bhimpalasi", "charukeshi"]),
        ("cycle: |", ["jhaptal", "tintal"]),
        ("tonic: |", ["Eb", "F#"]),
        ("players:\n  fl|", ["flute", "alto-sax"]),
        ("players:\n  flute: {plays: |", ["melody", "theka"]),
        ("players:\n  flute:\n    reads:\n      |", ["script", "clef"]),
        ("players:\n  flute:\n    reads: {clef: |", ["alto", "treble-8vb"]),
        ("form:\n  - |", ["play", "solo"]),
        ("form:\n  |", ["- play", "- solo"]),
        ("form:\n  - play: |", ["head", "low"]),
        ("form:\n  - play: {melody: |", ["head", "low"]),
        ("form:\n  - play: head\n    by: [|", ["melody", "tabla"]),
        ("form:\n  - solo: |", ["melody", "tabla"]),
        ("form: [play: |", ["head", "low"]),
        ("under: {melody: |", ["head", "none"]),
        ("under:\n  |", ["melody", "tabla"]),
        ("liberties:\n  - rule: |", ["foreign-tone", "weak-rest"]),
        ("liberties:\n  - {rule: foreign-tone, line: |", ["head"]),
        ("liberties:\n  - rule: foreign-tone\n    tone: |", ["S", "N"]),
        ("tuning: |", ["just", "equal"]),
    ],
)
async def test_completion_by_place(client: LanguageClient, more: str, some: list[str]) -> None:
    lines = "lines:\n  head: {sargam: S R | G m P | d n | S' n d}\n  low: {from: head}\n"
    heading = "title: A\ntonic: D\nmode: charukeshi\ncycle: jhaptal\n"
    text = heading + lines + more
    at = text.index("|", len(heading + lines))
    open_text = await opened(client, text[:at] + text[at + 1 :])
    found = await labels(open_text, open_text.position(at))
    assert set(some) <= set(found), found


@pytest.mark.parametrize(
    ("line", "some", "none"),
    [
        ("sargam: |\n      S R |", ["S", "G", "n"], ["N", "r"]),
        ("sargam: S R |", ["S", "G", "n"], ["N"]),
        ("letters: |\n      D E |", ["F#", "C"], ["F"]),
        ("degrees: |\n      1 |", ["b6", "3"], ["b3"]),
        ("sargam: |\n      !|", ["!andolan!", "!cresc!"], ["S"]),
        ("sargam: |\n      [S R]|", ["x3/2", "dugun"], ["S"]),
        ("strokes: |\n      dha |", ["dhin", "dha"], ["S"]),
        ("kit: |\n      k |", ["k", "h"], ["dha"]),
        ("sargam: |\n      S # |", [], ["S"]),
        ("words: |\n      S |", [], ["S"]),
        ("|", ["sargam", "begins", "cadence"], ["title"]),
        ("cadence: {|", ["sargam", "gap"], ["words"]),
        ("cadence:\n      first:\n        |", ["yati", "sargam"], ["within"]),
        ("from: |", ["other"], ["melody"]),
        ("lands: |", ["free"], []),
        ("rhythm: |", ["own", "written", "other"], []),
        ("chain: [other, |", ["other"], []),
    ],
)
async def test_completion_in_a_line(
    client: LanguageClient, line: str, some: list[str], none: list[str]
) -> None:
    above = with_heading("lines:\n  other: {sargam: S}\n  head:\n    ")
    at = len(above) + line.rindex("|")
    text = above + line[: line.rindex("|")] + line[line.rindex("|") + 1 :] + "\n"
    open_text = await opened(client, text)
    found = await labels(open_text, open_text.position(at))
    assert set(some) <= set(found), found
    assert not set(none) & set(found)


async def test_a_key_is_put_in_place_of_its_beginning(client: LanguageClient) -> None:
    text = await opened(client, "title: A\nlines: {}\ntem")
    params = types.CompletionParams(text.id, text.at("tem", 3))
    found = await client.text_document_completion_async(params)
    assert isinstance(found, types.CompletionList)
    (item,) = [item for item in found.items if item.label == "tempo"]
    assert isinstance(item.text_edit, types.TextEdit)
    assert text.applied([item.text_edit]) == "title: A\nlines: {}\ntempo: "
    assert "title" not in {item.label for item in found.items}


async def shown(text: OpenText, at: types.Position) -> str:
    found = await text.client.text_document_hover_async(types.HoverParams(text.id, at))
    if found is None:
        return ""
    assert isinstance(found.contents, types.MarkupContent)
    return found.contents.value


async def test_hover(client: LanguageClient) -> None:
    """The just third is 386.31 cents (Helmholtz, On the Sensations of Tone, appendix XX)."""
    text = await opened(client, PIECE.replace("d N", "d n"))
    third = await shown(text, text.at("G m P"))
    assert "G is F♯ with Sa on D, 386.3 cents from Sa (just tuning)" in third
    assert "head, cycle 1, beat 3; 1 beat long" in third
    assert "1.30 s from the line's beginning, for 0.65 s" in third  # 2 beats at 92 a minute
    assert "first heard 0:07.8 into the piece" in third  # ten beats are counted in before
    assert "lands on the first beat; its last note is on cycle 3, beat 1" in await shown(
        text, text.at("play: head", 7)
    )
    assert "Charukeshi" in await shown(text, text.at("charukeshi", 2))
    assert "Jhaptal" in await shown(text, text.at("jhaptal", 2))
    assert "Beats (matras) a minute." in await shown(text, text.at("tempo", 1))
    assert "How often the step is played." in await shown(text, text.at("times", 1))
    assert await shown(text, text.at("title: A", 7)) == ""


async def actions(text: OpenText, where: types.Range) -> dict[str, types.CodeAction]:
    context = types.CodeActionContext(diagnostics=[])
    params = types.CodeActionParams(text.id, where, context)
    found = await text.client.text_document_code_action_async(params)
    return {one.title: one for one in found or [] if isinstance(one, types.CodeAction)}


def edits_of(text: OpenText, action: types.CodeAction) -> list[types.TextEdit]:
    assert action.edit is not None and action.edit.changes is not None
    return list(action.edit.changes[text.uri])


@pytest.mark.parametrize(
    "below",
    [
        "",
        "\n# the end\n",
        "liberties:\n- rule: rub\n  why: so\n# after\ncount-in: 0\n",
        "liberties:\n    - {rule: rub, why: so}\n\n\ncount-in: 0",
        "liberties:\ncount-in: 0\n",
    ],
)
async def test_a_liberty_is_written(client: LanguageClient, below: str) -> None:
    text = await opened(client, PIECE + below)
    found = await actions(text, text.range("N | S'", 0, 1))
    edits = edits_of(text, found["take it as a liberty: foreign-tone of N"])
    new = text.applied(edits)
    why = [row for row in new.split("\n") if row.strip() == "why:"]
    assert len(why) == 1
    codes = {one.code for one in await text.changed(new)}
    assert codes & {"missing-key", "wrong-value"}, codes  # the reason is still to be said
    filled = new.replace(f"{why[0]}\n", f"{why[0].rstrip()} the joke of the tune\n")
    found_now = await text.changed(filled)
    assert not {one.code for one in found_now} & {"missing-key", "wrong-value", "unreadable"}
    (taken,) = [one for one in found_now if one.code == "foreign-tone"]
    assert taken.severity == types.DiagnosticSeverity.Hint
    assert "taken on purpose: the joke of the tune" in taken.message


async def test_inlay_hints(client: LanguageClient) -> None:
    text = await opened(client, PIECE.replace("d N", "d n"))
    whole = types.Range(types.Position(0, 0), types.Position(99, 0))
    found = await client.text_document_inlay_hint_async(types.InlayHintParams(text.id, whole))
    assert [(one.position, one.label) for one in found or []] == [
        (text.at("||\n      P", 2), "2"),
        (text.at("||\n      S\n", 2), "3"),
        (text.at("S\n  low", 1), "lands: cycle 3, beat 1"),
    ]
    first = types.Range(types.Position(0, 0), text.at("||\n      P"))
    found = await client.text_document_inlay_hint_async(types.InlayHintParams(text.id, first))
    assert [one.label for one in found or []] == ["2"]


EVERYWHERE = with_heading(
    "under: {guitar: head, double-bass: [head, b]}\n"
    "players: {flute: melody, guitar: voicings, double-bass: pedal, tabla: theka,\n"
    "  head: {plays: melody, instrument: flute}}\n"
    "lines:\n"
    "  head: {sargam: S R | G m P | d n | S' n d}\n"
    "  b: {from: head, part: 1}\n"
    "  c: {chain: [head, 'head', b]}\n"
    "  d: {chords: D - | - - - | G - | - - -, rhythm: head}\n"
    "  e: {cadence: {line: head, first: {line: head}}}\n"
    "  f: {cadence: {cadence: {line: \"head\"}}}\n"
    "form:\n"
    "  - play: head\n"
    "  - {play: {flute: head, guitar: d}, hits: {line: head}}\n"
    "  - {solo: flute, cycles: 2, over: head, hits: head}\n"
    "  - {free: head, seconds: 10}\n"
    "  - {solo: head, cycles: 1, under: {guitar: head}}\n"
    "liberties:\n"
    "  - {rule: foreign-tone, line: head, why: head over heels}\n"
)  # fmt: skip


async def test_a_line_is_renamed_wherever_it_is_named(client: LanguageClient) -> None:
    """A player of the same name, and the words of a reason, stay."""
    text = await opened(client, EVERYWHERE)
    before = sorted(str(one.message) for one in client.diagnostics[text.uri])
    params = types.RenameParams(text.id, text.at("  head: {sargam", 3), "opening tune")
    edit = await client.text_document_rename_async(params)
    assert edit is not None and edit.changes is not None
    new = text.applied(list(edit.changes[text.uri]))
    stay = ("head: {plays", "solo: head", "why: head over heels")
    rest = new
    for words in stay:
        assert words in new
        rest = rest.replace(words, "")
    assert "head" not in rest
    assert new.count("opening tune") == 18
    after = await text.changed(new)
    assert sorted(one.message.replace("opening tune", "head") for one in after) == before


async def test_a_name_that_is_taken_or_unfit_is_refused(client: LanguageClient) -> None:
    text = await opened(client)
    for name, why in (("low", "already"), ("", "empty"), ("x" * 99, "60"), ("written", "else")):
        with pytest.raises(Exception, match=why):
            await client.text_document_rename_async(
                types.RenameParams(text.id, text.at("head:", 1), name)
            )


async def test_definition_and_references(client: LanguageClient) -> None:
    text = await opened(client)
    at = text.at("play: head", 8)
    found = await client.text_document_definition_async(types.DefinitionParams(text.id, at))
    assert isinstance(found, list)
    assert [one.range for one in found if isinstance(one, types.Location)] == [
        text.range("head:", 0, 4)
    ]
    context = types.ReferenceContext(include_declaration=False)
    named = await client.text_document_references_async(types.ReferenceParams(context, text.id, at))
    assert [one.range for one in named or []] == [
        text.range("from: head", 6, 4),
        text.range("line: head", 6, 4),
        text.range("play: head", 6, 4),
    ]


async def test_outline(client: LanguageClient) -> None:
    text = await opened(client)
    params = types.DocumentSymbolParams(text.id)
    found = await client.text_document_document_symbol_async(params)
    parts = {
        one.name: [below.name for below in one.children or []]
        for one in found or []
        if isinstance(one, types.DocumentSymbol)
    }
    assert parts == {
        "lines": ["head", "low", "tag"],
        "form": ["1. play head", "2. play melody: low"],
    }


@pytest.mark.parametrize("path", DEMO_BOOK[:3], ids=lambda path: path.stem)
async def test_formatting_is_tidy(client: LanguageClient, path: Path) -> None:
    written = path.read_text("utf-8")
    text = await opened(client, written)
    options = types.FormattingOptions(tab_size=2, insert_spaces=True)
    params = types.DocumentFormattingParams(text.id, options)
    edits = await client.text_document_formatting_async(params)
    new = text.applied(list(edits or []))
    assert new == tidied(Source.of("", written)) != written
    await text.changed(new)
    params = types.DocumentFormattingParams(text.id, options)
    assert not await client.text_document_formatting_async(params)
