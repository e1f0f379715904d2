"""What the server says in the types of the Language Server Protocol."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from lsprotocol import types
from pygls import uris

from cyclechart.editor.analysis import Analysis
from cyclechart.editor.completion import Offer
from cyclechart.editor.outline import Entry
from cyclechart.editor.positions import At, Positions
from cyclechart.finding import Edit, Finding, Spot
from cyclechart.text.edits import offset_of
from cyclechart.write.terminal.findings import show_place

_SEVERITY = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "advice": types.DiagnosticSeverity.Information,
}
_OFFER = {
    "key": types.CompletionItemKind.Property,
    "name": types.CompletionItemKind.Reference,
    "word": types.CompletionItemKind.EnumMember,
    "tone": types.CompletionItemKind.Value,
}
_SYMBOL = {
    "part": types.SymbolKind.Namespace,
    "line": types.SymbolKind.Function,
    "step": types.SymbolKind.Event,
    "player": types.SymbolKind.Class,
}


class Wire:
    """Turns what is known of one text into types of the protocol, at positions of one encoding."""

    def __init__(self, analysis: Analysis, encoding: str) -> None:
        self.analysis = analysis
        self.positions = Positions(analysis.source, encoding, mark=analysis.mark)

    def offset(self, position: types.Position) -> int:
        """Return the offset of a position."""
        return self.positions.offset(At(position.line, position.character))

    def range(self, start: int, end: int) -> types.Range:
        """Return the range between two offsets."""
        return types.Range(_position(self.positions.at(start)), _position(self.positions.at(end)))

    def range_of(self, spot: Spot) -> types.Range:
        """Return the range of a place of the text."""
        start, end = self.positions.of_spot(spot)
        return types.Range(_position(start), _position(end))

    def diagnostic(self, finding: Finding) -> types.Diagnostic:
        """Return a finding as a diagnostic; one in another file stands on the first row."""
        severity, message = _SEVERITY[finding.severity], finding.message
        if finding.place is not None:
            message = f"{show_place(finding.place)}: {message}"
        if finding.liberty is not None:
            severity = types.DiagnosticSeverity.Hint
            message += f"\ntaken on purpose: {finding.liberty}"
        else:
            message += "".join(
                f"\n{' or' if number else 'try'}: {text}"
                for number, text in enumerate(finding.tries)
            )
        here = finding.spot.file == self.analysis.file
        spot = finding.spot
        if not here:
            message = f"{spot.file}:{spot.line}:{spot.column}: {message}"
        return types.Diagnostic(
            range=self.range_of(spot) if here else self.range(0, 0),
            message=message,
            severity=severity,
            code=finding.rule,
            source="cyclechart",
            related_information=None if here else [_elsewhere(finding)],
        )

    def edits(self, edits: Iterable[Edit]) -> list[types.TextEdit]:
        """Return edits of the text."""
        found = []
        for edit in dict.fromkeys(edits):
            start = offset_of(self.analysis.source, edit.spot)
            found.append(types.TextEdit(self.range(start, start + edit.spot.width), edit.text))
        return found

    def item(self, offer: Offer, word: types.Range, number: int) -> types.CompletionItem:
        """Return something to write in place of the word before the cursor."""
        return types.CompletionItem(
            label=offer.label,
            kind=_OFFER[offer.kind],
            detail=offer.detail or None,
            documentation=offer.about or None,
            sort_text=f"{number:04}",
            text_edit=types.TextEdit(word, offer.text or offer.label),
        )

    def symbol(self, entry: Entry) -> types.DocumentSymbol:
        """Return a part of the outline."""
        return types.DocumentSymbol(
            name=entry.name,
            kind=_SYMBOL[entry.kind],
            range=self.range(entry.start, entry.end),
            selection_range=self.range(entry.name_start, entry.name_end),
            children=[self.symbol(one) for one in entry.below],
        )


def _position(at: At) -> types.Position:
    return types.Position(at.row, at.column)


def _elsewhere(finding: Finding) -> types.DiagnosticRelatedInformation:
    """Return the place of a finding in another file; columns are right for its plain letters."""
    spot = finding.spot
    start = types.Position(spot.line - 1, spot.column - 1)
    end = types.Position(spot.line - 1, spot.column - 1 + spot.width)
    uri = uris.from_fs_path(str(Path(spot.file).absolute())) or spot.file
    return types.DiagnosticRelatedInformation(
        types.Location(uri, types.Range(start, end)), finding.message
    )
