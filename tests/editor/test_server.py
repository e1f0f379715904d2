"""The language server, driven by a client that speaks the protocol."""

from __future__ import annotations

import sys
from collections.abc import AsyncIterator

import pytest
import pytest_lsp
from lsprotocol import types
from pytest_lsp import ClientServerConfig, LanguageClient
from support.making import with_heading

URI = "file:///tmp/nowhere-at-all/piece.yaml"
COMMAND = [sys.executable, "-m", "cyclechart", "language-server", "--stdio"]
ENCODINGS = ["utf-8", "utf-16", "utf-32"]

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
)


@pytest_lsp.fixture(params=ENCODINGS, config=ClientServerConfig(server_command=COMMAND))
async def client(request: pytest.FixtureRequest, lsp_client: LanguageClient) -> AsyncIterator[None]:
    general = types.GeneralClientCapabilities(position_encodings=[request.param])
    await lsp_client.initialize_session(
        types.InitializeParams(capabilities=types.ClientCapabilities(general=general))
    )
    yield
    await lsp_client.shutdown_session()


class Text:
    """A text in the editor, and where things stand in it."""

    def __init__(self, client: LanguageClient, text: str, encoding: str, uri: str = URI) -> None:
        self.client, self.text, self.encoding, self.uri, self.version = (
            client,
            text,
            encoding,
            uri,
            0,
        )

    @property
    def id(self) -> types.TextDocumentIdentifier:
        return types.TextDocumentIdentifier(self.uri)

    async def opened(self) -> list[types.Diagnostic]:
        item = types.TextDocumentItem(self.uri, "yaml", 0, self.text)
        self.client.text_document_did_open(types.DidOpenTextDocumentParams(item))
        return await self.diagnostics()

    async def changed(self, text: str) -> list[types.Diagnostic]:
        self.text, self.version = text, self.version + 1
        document = types.VersionedTextDocumentIdentifier(uri=self.uri, version=self.version)
        whole = types.TextDocumentContentChangeWholeDocument(text)
        self.client.text_document_did_change(types.DidChangeTextDocumentParams(document, [whole]))
        return await self.diagnostics()

    async def diagnostics(self) -> list[types.Diagnostic]:
        while True:
            await self.client.wait_for_notification(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
            return list(self.client.diagnostics.get(self.uri, []))

    def position(self, offset: int) -> types.Position:
        """A position counted with Python's own encoders."""
        rows = self.text[:offset].split("\n")
        size = {"utf-8": 1, "utf-16": 2, "utf-32": 4}[self.encoding]
        codec = {"utf-16": "utf-16-le", "utf-32": "utf-32-le"}.get(self.encoding, "utf-8")
        return types.Position(len(rows) - 1, len(rows[-1].encode(codec)) // size)

    def at(self, words: str, more: int = 0) -> types.Position:
        return self.position(self.text.index(words) + more)

    def applied(self, edits: list[types.TextEdit]) -> str:
        def offset(position: types.Position) -> int:
            for at in range(len(self.text) + 1):
                if self.position(at) == position:
                    return at
            raise AssertionError(position)

        text = self.text
        placed = sorted(edits, key=lambda edit: offset(edit.range.start), reverse=True)
        for edit in placed:
            text = text[: offset(edit.range.start)] + edit.new_text + text[offset(edit.range.end) :]
        return text


@pytest.fixture
def text(request: pytest.FixtureRequest, client: LanguageClient) -> Text:
    encoding = request.node.callspec.params["client"]
    return Text(client, PIECE, encoding)


@pytest.mark.asyncio
async def test_findings_come_as_the_text_changes(text: Text) -> None:
    found = await text.opened()
    (foreign,) = [one for one in found if one.code == "foreign-tone"]
    assert foreign.severity == types.DiagnosticSeverity.Error
    assert foreign.range == types.Range(text.at("N | S'"), text.at("N | S'", 1))
    assert "head, cycle 1, beat 7: N is not in Charukeshi" in foreign.message
    assert "foreign-tone" not in {
        one.code for one in await text.changed(PIECE.replace("d N", "d n"))
    }
