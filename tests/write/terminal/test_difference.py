"""The unified diff of a file as a terminal shows it."""

from __future__ import annotations

from cyclechart.write.terminal.difference import as_text

OLD = b"\xef\xbb\xbfone\r\ntwo\r\nthree\r\n"
NEW = b"\xef\xbb\xbfone\r\n2\r\nthree\r\n"


def test_rows_are_compared_without_their_ends() -> None:
    shown = as_text("a.yaml", OLD, NEW)
    assert shown == "--- a.yaml\n+++ a.yaml\n@@ -1,3 +1,3 @@\n one\n-two\n+2\n three\n"
    assert as_text("a.yaml", OLD, OLD) == ""


def test_a_file_s_own_escapes_do_not_reach_the_terminal() -> None:
    shown = as_text("a.yaml", b"a\n", b"\x1b[2J\n")
    assert "\x1b" not in shown


def test_it_is_what_the_library_s_own_reader_undoes() -> None:
    old, new = ["a", "b", "c"], ["a", "x", "c", "d"]
    shown = as_text("f", "\n".join(old).encode(), "\n".join(new).encode())
    delta = [row for row in shown.split("\n")[3:] if row]
    assert [row[1:] for row in delta if row[0] in " -"] == old
    assert [row[1:] for row in delta if row[0] in " +"] == new
