"""What the server of ``live`` answers, and to whom."""

from __future__ import annotations

import http.client
import json
import re
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from support.live_serving import got, sent, served
from support.making import with_heading

from cyclechart.produce.live.access import Access, network_address, new_token, usual_port
from cyclechart.produce.live.piece_shelf import PieceShelf
from cyclechart.produce.live.server import MOST_SENT, LiveServer, keep_looking

LOOP = "lines:\n  head: {sargam: S R G m P d n S' n d}\n"


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "tune.yaml"
    path.write_text(with_heading(LOOP, title="Ebb Gate"), "utf-8")
    return path


@pytest.fixture
def live(piece: Path) -> Iterator[LiveServer]:
    """A server of the piece, which is not read yet."""
    with served(PieceShelf(piece)) as made:
        yield made


def test_the_server_answers_this_machine_alone(live: LiveServer) -> None:
    desk = live.shelf.desks[0]
    desk.look()
    address = live.access.address.rstrip("/")
    status, shell, headers = got(f"{address}/")
    assert status == 200 and b"<iframe" in shell
    # The policy names the very script and style that stand in the page (CSP level 3, by hash).
    policy = headers["Content-Security-Policy"]
    assert "script-src 'sha256-" in policy and "style-src 'sha256-" in policy
    assert "unsafe" not in policy and "frame-ancestors 'none'" in policy
    assert got(f"{address}/page?0")[1] == desk.page
    assert got(f"{address}/page", Host="elsewhere.example:80")[0] == 403
    assert got(f"{address}/text", Host="elsewhere.example")[0] == 403
    assert got(f"{address}/text", Host=f"127.0.0.1.elsewhere.example:{live.access.port}")[0] == 403
    assert got(f"{address}/../../etc/passwd")[0] == 404
    assert got(f"{address}/choices")[0] == 404
    assert got(f"{address}/news?x")[0] == 200
    assert json.loads(got(f"{address}/news?-1")[1])["version"] == desk.version


def test_the_text_is_saved_over_the_version_that_it_began_from(
    live: LiveServer, piece: Path
) -> None:
    address = live.access.address
    text = json.loads(got(f"{address}text")[1])
    new = text["text"].replace("Ebb", "Flood")
    asked = {"text": new, "base": text["text"], "fingerprint": text["fingerprint"]}
    status, answer = sent(f"{address}save", asked)
    assert status == 200 and answer["saved"] and piece.read_text("utf-8") == new
    # Once more over the old version: somebody has changed the file since, in the same row.
    asked["text"] = text["text"].replace("Ebb", "Neap")
    status, answer = sent(f"{address}save", asked)
    assert status == 200 and not answer["saved"] and answer["merged"] is None
    assert piece.read_text("utf-8") == new == answer["text"]
    # In another row both fit together.
    asked["text"] = text["text"].replace("S' n d", "S' n n")
    answer = sent(f"{address}merge", asked)[1]
    assert "Flood" in answer["merged"] and "S' n n" in answer["merged"]
    assert piece.read_text("utf-8") == new


def test_only_a_page_of_ours_may_write(live: LiveServer, piece: Path) -> None:
    before = piece.read_bytes()
    save = f"{live.access.address}save"
    text = json.loads(got(f"{live.access.address}text")[1])
    asked = {"text": "gone\n", "base": "", "fingerprint": text["fingerprint"]}
    assert sent(save, asked, Origin="http://elsewhere.example")[0] == 403
    assert sent(save, asked, Origin="null")[0] == 403
    assert sent(save, asked, Origin="")[0] == 403
    assert sent(save, asked, Origin=f"http://127.0.0.1:{live.access.port + 1}")[0] == 403
    assert sent(save, asked, Sec_Fetch_Site="cross-site")[0] == 403
    assert sent(save, asked, Sec_Fetch_Site="same-site")[0] == 403
    assert sent(save, asked, Host="elsewhere.example")[0] == 403
    # A form of another site can send these kinds without being asked first (Fetch, CORS).
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""):
        assert sent(save, asked, Content_Type=kind or "x")[0] == 415
    assert got(save)[0] == 404
    assert piece.read_bytes() == before


@pytest.mark.parametrize(
    "body", [b"", b"[", b"[]", b"3", b'{"text": 3}', b'{"text": null}', b"[" * 100_000, b"\xff\xfe"]
)
def test_odd_requests_are_refused(live: LiveServer, piece: Path, body: bytes) -> None:
    before = piece.read_bytes()
    for path in ("check", "save", "merge"):
        assert sent(live.access.address + path, body)[0] == 400
    assert piece.read_bytes() == before


def test_requests_have_a_length_and_a_limit(live: LiveServer) -> None:
    host, port = live.access.host, live.access.port
    plain = {"Origin": f"http://{host}:{port}", "Content-Type": "application/json"}
    for headers, wanted in (
        ({"Content-Length": str(MOST_SENT + 1)}, 413),
        ({"Content-Length": "9" * 30}, 413),
        ({"Content-Length": "-1"}, 411),
        ({"Content-Length": "²"}, 411),
        ({}, 411),
        ({"Transfer-Encoding": "chunked"}, 411),
        ({"Transfer-Encoding": "chunked", "Content-Length": "2"}, 411),
    ):
        asked = http.client.HTTPConnection(host, port, timeout=20)
        asked.putrequest("POST", "/check")
        for key, value in {**plain, **headers}.items():
            asked.putheader(key, value.encode("latin-1"))
        asked.endheaders()
        assert asked.getresponse().status == wanted, headers
        asked.close()


def test_a_text_that_no_file_can_hold_is_refused_in_a_sentence(
    live: LiveServer, piece: Path
) -> None:
    text = json.loads(got(f"{live.access.address}text")[1])
    asked = {"base": text["text"], "fingerprint": text["fingerprint"]}
    save = f"{live.access.address}save"
    assert "Row 2" in sent(save, {**asked, "text": "a\n\ud83c\n"})[1]["refused"]
    assert "2,000,000" in sent(save, {**asked, "text": "x" * 2_000_001})[1]["refused"]
    assert piece.read_text("utf-8") == text["text"]


def test_a_question_for_news_waits_until_there_is_some(piece: Path) -> None:
    shelf = PieceShelf(piece)
    shelf.desks[0].look()
    stop = threading.Event()
    with served(shelf) as live:
        heard: list[dict[str, Any]] = []
        news = f"{live.access.address}news?{shelf.desks[0].version}"
        asking = threading.Thread(target=lambda: heard.append(json.loads(got(news)[1])))
        asking.start()
        time.sleep(0.2)
        assert not heard
        said: list[str] = []
        looking = threading.Thread(target=keep_looking, args=(shelf, stop, said.append))
        looking.start()
        piece.write_text(piece.read_text("utf-8").replace("Ebb", "Neap"), "utf-8")
        asking.join(20)
        stop.set()
        looking.join(20)
    assert heard[0]["version"] > 1 and shelf.desks[0].drawn == 1
    assert said and "s)" in said[0]


# --- a folder ---


def test_a_folder_lists_its_pieces_and_opens_no_other_file(piece: Path) -> None:
    folder = piece.parent
    (folder / "notes.yaml").write_text("a: b\n", "utf-8")
    (folder / "set.yaml").write_text("title: Gig\npieces: [tune.yaml]\n", "utf-8")
    (folder / ".hidden.yaml").write_text(piece.read_text("utf-8"), "utf-8")
    outside = folder.parent / f"{folder.name}-outside.yaml"
    outside.write_text(piece.read_text("utf-8"), "utf-8")
    (folder / "led-out.yaml").symlink_to(outside)
    (folder / "inside.yaml").symlink_to(piece)
    with served(PieceShelf(folder=folder)) as live:
        address = live.access.address
        listed = json.loads(got(f"{address}choices")[1])
        assert [one["name"] for one in listed["pieces"]] == ["inside.yaml", "tune.yaml"]
        assert listed["pieces"][1]["title"] == "Ebb Gate"
        for name in (
            "led-out.yaml", ".hidden.yaml", "notes.yaml", "../tune.yaml", str(piece), "", "\x00",
        ):  # fmt: skip
            assert "refused" in sent(f"{address}open", {"name": name})[1]
        assert got(f"{address}piece/0/text")[0] == 404
        assert sent(f"{address}open", {"name": "tune.yaml"})[1] == {"at": "piece/0/"}
        assert sent(f"{address}open", {"name": "inside.yaml"})[1] == {"at": "piece/0/"}
        assert json.loads(got(f"{address}piece/0/text")[1])["text"] == piece.read_text("utf-8")
        assert got(f"{address}piece/1/text")[0] == 404
        assert got(f"{address}piece/../0/text")[0] == 404
        status, shell, headers = got(address)
        assert status == 200 and b"Open a piece" in shell
        assert "unsafe" not in headers["Content-Security-Policy"]


def test_one_piece_opens_no_folder(live: LiveServer) -> None:
    for path in ("open", "new", "choices"):
        assert sent(f"{live.access.address}{path}", {"name": "tune.yaml"})[0] == 404


# --- the network ---


def test_with_a_token_nothing_is_answered_without_it(piece: Path) -> None:
    token = new_token()
    assert len(token) >= 40 and token != new_token()
    with served(PieceShelf(piece), token=token) as live:
        bare = f"http://127.0.0.1:{live.access.port}"
        for path in ("/", "/text", f"/{token[:-1]}/text", f"/{token}x/text", "//text", "/é/text"):
            assert got(bare + path.replace("é", "%C3%A9"))[0] == 403
        assert live.access.address == f"{bare}/{token}/"
        assert got(f"{bare}/{token}/text")[0] == 200
        assert got(f"{bare}/{token}/")[0] == 200
        assert got(f"{bare}/{token}/text", Host="elsewhere.example")[0] == 403
        assert sent(f"{bare}/check", {"text": ""})[0] == 403
        assert sent(f"{bare}/{token}/check", {"text": ""})[0] == 200
        assert sent(f"{bare}/{token}/check", {"text": ""}, Origin="http://a.example")[0] == 403


def test_a_network_address_is_called_by_its_own_name_alone() -> None:
    access = Access("192.168.1.7", 8000, "t")
    assert access.address == "http://192.168.1.7:8000/t/"
    assert access.is_our_name("192.168.1.7:8000")
    for other in ("localhost:8000", "127.0.0.1:8000", "192.168.1.7", "192.168.1.7:80", "", None):
        assert not access.is_our_name(other)
    assert Access().is_our_name("LocalHost:0")


def test_an_address_that_the_internet_reaches_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Which addresses are global: IANA's registries of special-purpose addresses, as Python has
    them."""

    class Probe:
        host = "8.8.8.8"

        def __init__(self, *_: object) -> None: ...
        def __enter__(self) -> Probe:
            return self

        def __exit__(self, *_: object) -> None: ...
        def connect(self, _: object) -> None: ...
        def getsockname(self) -> tuple[str, int]:
            return self.host, 1

    monkeypatch.setattr("socket.socket", Probe)
    with pytest.raises(OSError, match="whole internet"):
        network_address()
    for host in ("127.0.0.1", "0.0.0.0"):
        monkeypatch.setattr(Probe, "host", host)
        with pytest.raises(OSError, match="no network"):
            network_address()
    monkeypatch.setattr(Probe, "host", "10.1.2.3")
    assert network_address() == "10.1.2.3"


def test_a_piece_has_a_port_of_its_own(tmp_path: Path) -> None:
    one, other = tmp_path / "a.yaml", tmp_path / "b.yaml"
    assert usual_port(one) == usual_port(tmp_path / "x" / ".." / "a.yaml") != usual_port(other)
    assert 49152 <= usual_port(one) < 65536


def test_the_modules_of_a_page_share_no_name_and_import_what_stands_before() -> None:
    from cyclechart.produce.live import shell

    top = re.compile(r"^(?:export )?(?:async )?(?:function|class|const|let) (\w+)", re.MULTILINE)
    imports = re.compile(r"^import \{([^}]*)\} from \"(?:[^\"]*/)?([^\"/]+)\";$", re.MULTILINE)
    for modules in (shell.MODULES, shell.START_MODULES):
        texts = {name: shell._module(name) for name in modules}
        names = [name for text in texts.values() for name in top.findall(text)]
        assert sorted(names) == sorted(set(names)) and names
        for at, (name, text) in enumerate(texts.items()):
            found = imports.findall(text)
            assert len(found) == len(re.findall(r"^import\b", text, re.MULTILINE))
            for wanted, module in found:
                assert module in modules[:at], (name, module)
                exported = re.findall(
                    r"^export (?:async )?(?:function|class|const) (\w+)", texts[module], re.M
                )
                assert {one.strip() for one in wanted.split(",")} - {""} <= set(exported)
    static = Path(shell.__file__).parent / "static"
    used = {*shell.MODULES, *shell.START_MODULES} - set(shell.SHARED_MODULES)
    # The service worker is a script on its own: a page registers it and has none of its names.
    assert "worker.js" not in used
    assert {path.name for path in static.glob("*.js")} == used | {"worker.js"}
