"""Positions in each encoding that an editor may count in, beyond the Basic Multilingual Plane too.

Language Server Protocol 3.17, "Position": without a choice of the editor they are UTF-16 units.
"""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
import pytest_lsp
from lsprotocol import types
from pytest_lsp import ClientServerConfig, LanguageClient
from support.editor_client import COMMAND, OpenText
from support.making import with_heading

PIECE = with_heading(
    "lines:\n"
    "  𝄞 tune:\n"
    "    sargam: |\n"
    '      !"𝄞 कि"!S R | G m P | d N | S\' n d  # 🥁\n'
    '      !"🥁"!S R | GG m P | d n | S\' n d\n'
    "form: [play: 𝄞 tune]\n"
)


@pytest_lsp.fixture(
    params=["utf-8", "utf-16", "utf-32"], config=ClientServerConfig(server_command=COMMAND)
)
async def client(request: pytest.FixtureRequest, lsp_client: LanguageClient) -> AsyncIterator[None]:
    general = types.GeneralClientCapabilities(position_encodings=[request.param])
    await lsp_client.initialize_session(
        types.InitializeParams(capabilities=types.ClientCapabilities(general=general))
    )
    yield
    await lsp_client.shutdown_session()


@pytest.mark.asyncio
async def test_places_are_counted_as_the_editor_counts(
    request: pytest.FixtureRequest, client: LanguageClient
) -> None:
    encoding = request.node.callspec.params["client"]
    text = OpenText(client, PIECE, encoding)
    found = await text.opened()
    (foreign,) = [one for one in found if one.code == "foreign-tone"]
    assert foreign.range == text.range("N | S'", 0, 1)
    at = types.HoverParams(text.id, text.at("N | S'"))
    hover = await client.text_document_hover_async(at)
    assert hover is not None and hover.range == text.range("N | S'", 0, 1)
    edit = await client.text_document_rename_async(
        types.RenameParams(text.id, text.at("play: 𝄞", 6), "🥁")
    )
    assert edit is not None and edit.changes is not None
    new = text.applied(list(edit.changes[text.uri]))
    assert '  "🥁":\n' in new and '[play: "🥁"]' in new
    options = types.FormattingOptions(tab_size=2, insert_spaces=True)
    params = types.DocumentFormattingParams(text.id, options)
    tidy = text.applied(list(await client.text_document_formatting_async(params) or []))
    assert "| G  m P |" in tidy and "# 🥁" in tidy
    assert tidy.split() == PIECE.split()
