"""Values that lose their tail to a YAML comment, as ``title: Ferry #1`` does."""

from __future__ import annotations

from collections.abc import Collection

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
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
            findings.append(reading_rules.lost_to_comment(scalar.spot, scalar.text, comment))
    return findings


def _lost_sharp(tonic: Scalar, comment: str, glued: bool) -> list[Finding]:
    """Return the finding on a # one space after a tonic; further off it is plainly a comment."""
    if not glued and tonic.source.text.startswith("  ", tonic.end):
        return []
    tries = [f"tonic: {tonic.text}#", "put the comment on a line of its own"]
    return [reading_rules.lost_to_comment(tonic.spot, tonic.text, comment, tries)]
