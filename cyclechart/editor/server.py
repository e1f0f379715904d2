"""The language server: it answers an editor about the pieces that are open in it.

Everything is worked out from the text in the editor's memory and the shared/ beside the file.
"""

from __future__ import annotations

import asyncio
import functools
import logging
from collections.abc import Callable
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar

from lsprotocol import types
from pygls import uris
from pygls.lsp.server import LanguageServer

from cyclechart import __version__
from cyclechart.draft.tidy import tidy_nodes
from cyclechart.editor.analysis import Analysis
from cyclechart.editor.code_actions import actions
from cyclechart.editor.completion import offers
from cyclechart.editor.hover import shown_at
from cyclechart.editor.inlay_hints import hints
from cyclechart.editor.line_names import LineName, at_offset, line_names, renamed, why_unfit
from cyclechart.editor.outline import outline
from cyclechart.editor.protocol import Wire
from cyclechart.finding import Spot

DELAY = 0.01
"""Seconds after a change before the findings are worked out: keys that come in a burst are one."""

log = logging.getLogger(__name__)

Given = ParamSpec("Given")
Answer = TypeVar("Answer")


class CannotRename(ValueError):
    """A new name that a line cannot have."""


class PieceServer(LanguageServer):
    """The texts that are open, each with what is known of it."""

    def __init__(self) -> None:
        # Whole texts: what counts as the end of a row is then nobody's guess.
        super().__init__(
            "cyclechart",
            __version__,
            text_document_sync_kind=types.TextDocumentSyncKind.Full,
        )
        self.known: dict[str, tuple[str, Wire]] = {}
        self.waiting: dict[str, asyncio.TimerHandle] = {}

    def wire(self, uri: str) -> Wire:
        """Return what is known of a text as it stands."""
        text = self.workspace.get_text_document(uri).source
        encoding = self.workspace.position_encoding or types.PositionEncodingKind.Utf16
        known = self.known.get(uri)
        if known is None or known[0] != text:
            path = uris.to_fs_path(uri) if uri.startswith("file:") else None
            folder = Path(path).parent if path else None
            units = types.PositionEncodingKind(encoding).value
            before = known[1].analysis if known is not None else None
            wire = Wire(Analysis(path or uri, text, folder, before), units)
            known = self.known[uri] = (text, wire)
        return known[1]

    def find_soon(self, uri: str) -> None:
        """Work out the findings on a text when no more changes come."""
        if uri in self.waiting:
            self.waiting.pop(uri).cancel()
        loop = asyncio.get_running_loop()
        self.waiting[uri] = loop.call_later(DELAY, self.publish, uri)

    def publish(self, uri: str) -> None:
        """Send the findings on a text."""
        self.waiting.pop(uri, None)
        document = self.workspace.text_documents.get(uri)
        if document is None:
            return
        diagnostics: list[types.Diagnostic] = []
        try:
            wire = self.wire(uri)
            if wire.analysis.is_piece:
                diagnostics = [wire.diagnostic(one) for one in wire.analysis.findings]
        except Exception:
            self.confess("the findings")
        self.text_document_publish_diagnostics(
            types.PublishDiagnosticsParams(uri, diagnostics, document.version)
        )

    def forget(self, uri: str) -> None:
        """Forget a text that is closed."""
        if uri in self.waiting:
            self.waiting.pop(uri).cancel()
        self.known.pop(uri, None)
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, []))

    def confess(self, what: str) -> None:
        """Log an exception, which is a bug of ours, and go on."""
        log.exception("%s", what)
        message = f"cyclechart: {what}: this is a bug in cyclechart, not a mistake in your piece"
        self.window_log_message(types.LogMessageParams(types.MessageType.Error, message))


def alive(
    answer: Callable[Concatenate[PieceServer, Given], Answer],
) -> Callable[Concatenate[PieceServer, Given], Answer | None]:
    """Return a function that answers nothing where it fails: a broken text must not end the
    server."""

    @functools.wraps(answer)
    def careful(server: PieceServer, /, *args: Given.args, **more: Given.kwargs) -> Answer | None:
        try:
            return answer(server, *args, **more)
        except CannotRename:
            raise
        except Exception:
            server.confess(answer.__name__.replace("_", " "))
            return None

    # The server library looks at the names of the parameters.
    return careful


def piece_server() -> PieceServer:
    """Return the server with all that it answers."""
    server = PieceServer()
    server.feature(types.TEXT_DOCUMENT_DID_OPEN)(did_open)
    server.feature(types.TEXT_DOCUMENT_DID_CHANGE)(did_change)
    server.feature(types.TEXT_DOCUMENT_DID_SAVE)(did_save)
    server.feature(types.TEXT_DOCUMENT_DID_CLOSE)(did_close)
    triggers = types.CompletionOptions(trigger_characters=[" ", "!", "[", "{", "]"])
    server.feature(types.TEXT_DOCUMENT_COMPLETION, triggers)(completion)
    server.feature(types.TEXT_DOCUMENT_HOVER)(hover)
    kinds = types.CodeActionOptions(code_action_kinds=[types.CodeActionKind.QuickFix])
    server.feature(types.TEXT_DOCUMENT_CODE_ACTION, kinds)(code_actions)
    server.feature(types.TEXT_DOCUMENT_INLAY_HINT)(inlay_hints)
    server.feature(types.TEXT_DOCUMENT_DOCUMENT_SYMBOL)(symbols)
    server.feature(types.TEXT_DOCUMENT_DEFINITION)(definition)
    server.feature(types.TEXT_DOCUMENT_REFERENCES)(references)
    rename_options = types.RenameOptions(prepare_provider=True)
    server.feature(types.TEXT_DOCUMENT_PREPARE_RENAME)(prepare_rename)
    server.feature(types.TEXT_DOCUMENT_RENAME, rename_options)(rename)
    server.feature(types.TEXT_DOCUMENT_FORMATTING)(formatting)
    return server


@alive
def did_open(ls: PieceServer, params: types.DidOpenTextDocumentParams) -> None:
    ls.publish(params.text_document.uri)


@alive
def did_change(ls: PieceServer, params: types.DidChangeTextDocumentParams) -> None:
    ls.find_soon(params.text_document.uri)


@alive
def did_save(ls: PieceServer, params: types.DidSaveTextDocumentParams) -> None:
    """Look again: a file of shared/ may have changed meanwhile."""
    ls.known.clear()
    for uri in list(ls.workspace.text_documents):
        ls.find_soon(uri)


@alive
def did_close(ls: PieceServer, params: types.DidCloseTextDocumentParams) -> None:
    ls.forget(params.text_document.uri)


@alive
def completion(ls: PieceServer, params: types.CompletionParams) -> types.CompletionList:
    wire = ls.wire(params.text_document.uri)
    offset = wire.offset(params.position)
    spot = wire.analysis.source.spot(offset)
    cursor, found = offers(wire.analysis, spot.line - 1, spot.column - 1)
    tones = cursor.writes != "key" and any(one.kind == "tone" for one in found)
    # Tones run together in a cell: they are put in, in place of nothing.
    start = offset if tones else offset - len(cursor.word)
    word = wire.range(start, offset)
    items = [wire.item(offer, word, number) for number, offer in enumerate(found)]
    return types.CompletionList(is_incomplete=tones, items=items)


@alive
def hover(ls: PieceServer, params: types.HoverParams) -> types.Hover | None:
    wire = ls.wire(params.text_document.uri)
    shown = shown_at(wire.analysis, wire.offset(params.position))
    if shown is None:
        return None
    text = "\n\n".join(shown.sentences)
    if shown.card:
        text = "\n\n".join(filter(None, (text, f"```text\n{shown.card}\n```")))
    content = types.MarkupContent(types.MarkupKind.Markdown, text)
    return types.Hover(content, wire.range(shown.start, shown.end))


@alive
def code_actions(ls: PieceServer, params: types.CodeActionParams) -> list[types.CodeAction]:
    uri = params.text_document.uri
    wire = ls.wire(uri)
    start, end = wire.offset(params.range.start), wire.offset(params.range.end)
    return [
        types.CodeAction(
            title=one.title,
            kind=types.CodeActionKind.QuickFix,
            diagnostics=[wire.diagnostic(one.finding)],
            is_preferred=one.plain or None,
            edit=types.WorkspaceEdit(changes={uri: wire.edits(one.edits)}),
        )
        for one in actions(wire.analysis, start, end)
    ]


@alive
def inlay_hints(ls: PieceServer, params: types.InlayHintParams) -> list[types.InlayHint]:
    wire = ls.wire(params.text_document.uri)
    piece = wire.analysis.piece
    found = []
    for hint in hints(piece) if piece is not None else ():
        end = wire.range_of(hint.spot).end
        if params.range.start.line <= end.line <= params.range.end.line:
            found.append(types.InlayHint(end, hint.text, padding_left=True))
    return found


@alive
def symbols(ls: PieceServer, params: types.DocumentSymbolParams) -> list[types.DocumentSymbol]:
    wire = ls.wire(params.text_document.uri)
    root = wire.analysis.root
    return [wire.symbol(entry) for entry in outline(root)] if root is not None else []


@alive
def definition(ls: PieceServer, params: types.DefinitionParams) -> list[types.Location]:
    wire, names, here = _name_at(ls, params.text_document.uri, params.position)
    return [
        types.Location(params.text_document.uri, _range(wire, one))
        for one in names
        if here is not None and one.defines and one.name == here.name
    ]


@alive
def references(ls: PieceServer, params: types.ReferenceParams) -> list[types.Location]:
    wire, names, here = _name_at(ls, params.text_document.uri, params.position)
    also = params.context.include_declaration
    return [
        types.Location(params.text_document.uri, _range(wire, one))
        for one in names
        if here is not None and one.name == here.name and (also or not one.defines)
    ]


@alive
def prepare_rename(ls: PieceServer, params: types.PrepareRenameParams) -> types.Range | None:
    wire, _, here = _name_at(ls, params.text_document.uri, params.position)
    return _range(wire, here) if here is not None else None


@alive
def rename(ls: PieceServer, params: types.RenameParams) -> types.WorkspaceEdit | None:
    uri = params.text_document.uri
    wire, names, here = _name_at(ls, uri, params.position)
    if here is None:
        return None
    wrong = why_unfit(wire.analysis.source, names, here.name, params.new_name)
    if wrong:
        raise CannotRename(wrong)
    edits = renamed(names, here.name, params.new_name)
    return types.WorkspaceEdit(changes={uri: wire.edits(edits)})


@alive
def formatting(ls: PieceServer, params: types.DocumentFormattingParams) -> list[types.TextEdit]:
    wire = ls.wire(params.text_document.uri)
    root = wire.analysis.root
    if root is None or not wire.analysis.is_piece:
        return []
    return wire.edits(tidy_nodes(wire.analysis.source, root))


def _name_at(
    ls: PieceServer, uri: str, position: types.Position
) -> tuple[Wire, list[LineName], LineName | None]:
    """Return the names of lines in a text, and the one at a position."""
    wire = ls.wire(uri)
    root = wire.analysis.root
    names = line_names(root) if root is not None else []
    source = wire.analysis.source
    spot = source.spot(wire.offset(position))
    here = at_offset(names, source.starts[spot.line - 1] + spot.column - 1)
    return wire, names, here


def _range(wire: Wire, name: LineName) -> types.Range:
    node = name.node
    spot = node.source.spot(node.start, node.end - node.start)
    return wire.range_of(Spot(wire.analysis.file, spot.line, spot.column, spot.width))
