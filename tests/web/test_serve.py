"""Starting the server: the code, the addresses, and the real command on a real port."""

import re
import signal
import socket
import ssl
import stat
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import httpx2
import pytest

from catchpan.cli.main import run
from catchpan.store.errors import StorageError
from catchpan.web.address import HERE, CannotListenError, listening, network_address, qr_code
from catchpan.web.authority import kept_authority
from catchpan.web.serve import Wishes, greeting, has_screen, open_doors, pairing_code
from tests.web.serving import served

NOW = datetime(2025, 7, 4, 15, 0, tzinfo=UTC)


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


def test_the_greeting_shows_the_address_and_a_code_to_scan(tmp_path: Path) -> None:
    wishes = Wishes(host="127.0.0.2", port=0)
    doors = open_doors(wishes, tmp_path, kept_authority(tmp_path, NOW), NOW)
    lines = greeting(wishes, doors, "abc", "/field/")
    there = f"http://127.0.0.2:{doors[0].port}/phone/abc?to=/field/"
    assert f"    {there}" in lines
    assert qr_code(there).splitlines()[3] in lines
    assert [door.scheme for door in doors] == ["http", "https"]
    for door in doors:
        door.socket.close()


def test_this_machine_alone_needs_neither_https_nor_a_code_to_scan(tmp_path: Path) -> None:
    wishes = Wishes(host="127.0.0.1", port=0)
    (door,) = open_doors(wishes, tmp_path, kept_authority(tmp_path, NOW), NOW)
    with door.socket:
        lines = greeting(wishes, [door], "abc", "/")
    assert not any("phone" in line for line in lines)
    assert network_address().count(".") == 3


def test_a_machine_without_a_screen_opens_no_browser(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    assert has_screen() is (sys.platform in {"darwin", "win32"})


def test_half_a_certificate_is_no_certificate(tmp_path: Path) -> None:
    file = tmp_path / "cert.pem"
    file.write_text("")
    assert run(["serve", "--certificate", str(file)]) == 2


def test_the_command_serves_the_demo_and_stops_cleanly(tmp_path: Path) -> None:
    with served(tmp_path) as address, httpx2.Client() as browser:
        answer = browser.get(address)
        assert answer.headers["location"] == "/field/#/call/demo-attic"
        calls = browser.get(answer.url.join("/api/1/calls")).json()["calls"]
        assert calls[0]["call_id"] == "demo-attic"
    assert (tmp_path / "demo-shop" / "calls.sqlite3").exists()


def test_a_phone_that_trusts_the_authority_gets_https(tmp_path: Path) -> None:
    with served(tmp_path, "--host", "127.0.0.2") as address:
        base, _, rest = address.partition("/pair/")
        found = re.search(r'https://[^"]+', httpx2.get(f"{base}/phone/{rest}").text)
        assert found is not None
        trusted = ssl.create_default_context(cadata=httpx2.get(f"{base}/authority.crt").text)
        with pytest.raises(httpx2.ConnectError, match="certificate verify failed"):
            httpx2.get(found[0])
        with httpx2.Client(verify=trusted) as phone:
            answer = phone.get(found[0])
            assert answer.status_code == 303
            assert answer.headers["set-cookie"].startswith("__Host-catchpan_pass=")
            assert "secure" in answer.headers["set-cookie"].lower()
            assert phone.get(answer.url.join("/api/1/health")).json()["api"] == 1


SLOW = """
import sys, time
from fastapi import FastAPI
from catchpan.web.address import HERE, listening
from catchpan.web.doors import Door, answer_at
app = FastAPI()

@app.get("/slow")
def slow() -> str:
    print("asked", flush=True)
    time.sleep(6.0)
    return "late"

door = Door(listening(HERE, 0, any_port=True))
print(door.port, flush=True)
answer_at([door], app)
"""


def test_stopping_in_the_middle_of_an_answer_is_quiet() -> None:
    words = [sys.executable, "-c", SLOW]
    with subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        port = int(process.stdout.readline())
        with socket.create_connection((HERE, port), timeout=20) as asking:
            asking.sendall(b"GET /slow HTTP/1.1\r\nHost: here\r\n\r\n")
            assert process.stdout.readline() == "asked\n"
            process.send_signal(signal.SIGINT)
            _, complaints = process.communicate(timeout=30)
        assert process.returncode == 0
        assert complaints == ""
