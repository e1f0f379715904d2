"""Values that lose their tail to a YAML comment, as ``title: Ferry #1`` does."""

from __future__ import annotations

from collections.abc import Collection

from cyclechart.finding import Finding, Suggestion
from cyclechart.text import reading_rules
from cyclechart.text.edits import between
from cyclechart.text.excerpts import quoted
from cyclechart.text.nodes import Mapping, Scalar, comments_after


def lost_to_comments(
    root: Mapping, prose: Collection[str], *, with_tonic: bool = False
) -> list[Finding]:
    """Return the findings on values that are followed by what may be a part of them.

    Under a key of ``prose`` any comment may be; elsewhere only one with its # glued to a letter. In
    a line's text ``# …`` is a comment anyhow, but ``#4`` is a tone. ``with_tonic``: the file has a
    tonic, after which a # may be meant as a sharp.
    """
    findings = []
    for path, scalar, comment in comments_after(root):
        glued = not comment.startswith(("# ", "#\t")) and len(comment) > 1
        if with_tonic and path == ("tonic",):
            findings += _lost_sharp(scalar, comment, glued)
        elif glued or (path and path[-1] in prose):
            words = quoted(f"{scalar.text} {comment}")
            end = scalar.source.text.index(comment, scalar.end) + len(comment)
            whole = Suggestion(words, (between(scalar.source, scalar.start, end, words),))
            found = reading_rules.lost_to_comment(scalar.spot, scalar.text, comment, [whole])
            findings.append(found)
    return findings


def _lost_sharp(tonic: Scalar, comment: str, glued: bool) -> list[Finding]:
    """Return the finding on a # one space after a tonic; further off it is plainly a comment."""
    if not glued and tonic.source.text.startswith("  ", tonic.end):
        return []
    source, sharp = tonic.source, f"{tonic.text}#"
    end = source.text.index(comment, tonic.end) + len(comment)
    row = source.text.rfind("\n", 0, tonic.start) + 1
    above = (between(source, row, row, f"{comment}\n"),) if comment != "#" else ()
    tries = [
        Suggestion(f"tonic: {sharp}", (*above, between(source, tonic.start, end, sharp))),
        Suggestion(
            "put the comment on a line of its own",
            (*above, between(source, tonic.end, end, "")),
        ),
    ]
    return [reading_rules.lost_to_comment(tonic.spot, tonic.text, comment, tries)]
