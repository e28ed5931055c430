"""Starting the server: the code, the addresses, and the real command on a real port."""

import json
import stat
import sys
import urllib.request
from pathlib import Path

import pytest

from catchpan.cli.main import run
from catchpan.store.errors import StorageError
from catchpan.web.address import CannotListenError, listening, network_address, qr_code
from catchpan.web.serve import Wishes, addresses, greeting, has_screen, pairing_code
from tests.web.serving import served


def test_the_code_stays_the_same_and_only_we_can_read_it(tmp_path: Path) -> None:
    code = pairing_code(tmp_path)
    assert len(code) >= 20
    assert pairing_code(tmp_path) == code
    assert stat.S_IMODE((tmp_path / "pairing-code").stat().st_mode) == 0o600


def test_a_new_code_puts_the_old_one_out(tmp_path: Path) -> None:
    assert pairing_code(tmp_path) != pairing_code(tmp_path, new=True)


def test_a_folder_that_refuses_is_told(tmp_path: Path) -> None:
    with pytest.raises(StorageError, match="cannot keep the code"):
        pairing_code(tmp_path / "missing")


def test_a_taken_port_is_passed_over_or_told() -> None:
    with listening("127.0.0.1", 0, any_port=False) as first:
        port = first.getsockname()[1]
        with listening("127.0.0.1", port, any_port=True) as second:
            assert second.getsockname()[1] != port
        with pytest.raises(CannotListenError, match="name another port"):
            listening("127.0.0.1", port, any_port=False)


def test_the_greeting_shows_both_addresses_and_a_code_to_scan() -> None:
    wishes = Wishes(host="192.0.2.7")
    there, here = addresses(wishes, 8321, "abc", "/field/")
    assert there == "http://192.0.2.7:8321/pair/abc?to=/field/"
    assert addresses(Wishes(host="127.0.0.1"), 1, "abc", "/")[0].startswith("http://127.0.0.1:1/")
    lines = "\n".join(greeting(there, "http://127.0.0.1:8321/"))
    assert there in lines
    assert here == there
    assert qr_code(there).splitlines()[3] in lines
    assert network_address().count(".") == 3


def test_a_machine_without_a_screen_opens_no_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert has_screen() is (sys.platform in {"darwin", "win32"})


def test_half_a_certificate_is_no_certificate(tmp_path: Path) -> None:
    file = tmp_path / "cert.pem"
    file.write_text("")
    assert run(["serve", "--certificate", str(file)]) == 2


@pytest.mark.xdist_group("whole server")
def test_the_command_serves_the_demo_and_stops_cleanly(tmp_path: Path) -> None:
    with served(tmp_path) as address:
        base = address.partition("/pair/")[0]
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        opener.open(address).close()
        with opener.open(f"{base}/api/1/calls") as answer:
            calls = json.load(answer)["calls"]
        assert calls[0]["call_id"] == "demo-ceiling"
        assert "demo-ceiling" in address
    assert (tmp_path / "demo-shop" / "calls.sqlite3").exists()
