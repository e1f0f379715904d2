"""A client of the language server, and a text that is open in it."""

from __future__ import annotations

import asyncio
import sys

from lsprotocol import types
from pytest_lsp import LanguageClient

COMMAND = [sys.executable, "-m", "cyclechart", "language-server", "--stdio"]
LONGEST_WAIT = 60.0
"""Seconds until a server that says nothing fails the test, which else would wait for ever."""
UNITS = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2), "utf-32": ("utf-32-le", 4)}


class OpenText:
    """A text in the editor, and where things stand in it, counted with Python's own encoders."""

    def __init__(
        self, client: LanguageClient, text: str, encoding: str = "utf-16", uri: str = "untitled:1"
    ) -> None:
        self.client, self.text, self.encoding, self.uri = client, text, encoding, uri
        self.version = 0

    @property
    def id(self) -> types.TextDocumentIdentifier:
        return types.TextDocumentIdentifier(self.uri)

    async def opened(self) -> list[types.Diagnostic]:
        item = types.TextDocumentItem(self.uri, "yaml", self.version, self.text)
        self.client.text_document_did_open(types.DidOpenTextDocumentParams(item))
        return await self.diagnostics()

    async def changed(self, text: str) -> list[types.Diagnostic]:
        self.text, self.version = text, self.version + 1
        document = types.VersionedTextDocumentIdentifier(uri=self.uri, version=self.version)
        whole = types.TextDocumentContentChangeWholeDocument(text)
        self.client.text_document_did_change(types.DidChangeTextDocumentParams(document, [whole]))
        return await self.diagnostics()

    async def diagnostics(self) -> list[types.Diagnostic]:
        wait = self.client.wait_for_notification(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
        await asyncio.wait_for(wait, LONGEST_WAIT)
        return list(self.client.diagnostics.get(self.uri, []))

    def position(self, offset: int) -> types.Position:
        rows = self.text[:offset].split("\n")
        codec, size = UNITS[self.encoding]
        return types.Position(len(rows) - 1, len(rows[-1].encode(codec)) // size)

    def at(self, words: str, more: int = 0) -> types.Position:
        return self.position(self.text.index(words) + more)

    def range(self, words: str, more: int = 0, width: int | None = None) -> types.Range:
        width = len(words) if width is None else width
        return types.Range(self.at(words, more), self.at(words, more + width))

    def applied(self, edits: list[types.TextEdit]) -> str:
        offsets = {
            (at.line, at.character): offset
            for offset in range(len(self.text), -1, -1)
            for at in [self.position(offset)]
        }
        text = self.text
        for edit in sorted(edits, key=lambda one: _key(one.range.start), reverse=True):
            start, end = offsets[_key(edit.range.start)], offsets[_key(edit.range.end)]
            text = text[:start] + edit.new_text + text[end:]
        return text


def _key(position: types.Position) -> tuple[int, int]:
    return position.line, position.character
