"""Certificates of our own: trusted by those who trust us, for private networks and nothing else."""

import ssl
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from catchpan.store.errors import StorageError
from catchpan.web.authority import (
    Authority,
    is_private,
    kept_authority,
    own_names,
    write_server_files,
)

NOW = datetime.now(UTC).replace(microsecond=0)


def shake_hands(folder: Path, authority: Authority, name: str) -> None:
    """Let a client that trusts the authority meet a server of that name, in memory."""
    server_side = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server_side.load_cert_chain(*write_server_files(folder, authority, [name], NOW))
    client_side = ssl.create_default_context(cadata=authority.pem.decode())
    there, back = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = client_side.wrap_bio(back, there, server_hostname=name)
    server = server_side.wrap_bio(there, back, server_side=True)
    done = {client: False, server: False}
    while not all(done.values()):
        for side in done:
            try:
                side.do_handshake()
                done[side] = True
            except ssl.SSLWantReadError:
                pass


@pytest.mark.parametrize(
    "name", ["192.168.1.20", "10.0.0.7", "127.0.0.1", "van.local", "localhost"]
)
def test_private_names_are_vouched_for(tmp_path: Path, name: str) -> None:
    assert is_private(name)
    shake_hands(tmp_path, kept_authority(tmp_path, NOW), name)


@pytest.mark.parametrize("name", ["example.org", "198.51.100.7", "local.example.org"])
def test_whoever_trusts_us_trusts_us_for_nothing_else(tmp_path: Path, name: str) -> None:
    assert not is_private(name)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"):
        shake_hands(tmp_path, kept_authority(tmp_path, NOW), name)


def test_the_authority_is_kept_where_only_we_can_read_it(tmp_path: Path) -> None:
    first = kept_authority(tmp_path, NOW)
    assert kept_authority(tmp_path, NOW).pem == first.pem
    assert stat.S_IMODE((tmp_path / "authority.pem").stat().st_mode) == 0o600
    assert b"PRIVATE" not in first.pem


def test_one_that_has_run_out_or_is_damaged_is_made_anew(tmp_path: Path) -> None:
    first = kept_authority(tmp_path, NOW)
    assert kept_authority(tmp_path, NOW + timedelta(days=4000)).pem != first.pem
    (tmp_path / "authority.pem").write_text("damaged")
    assert kept_authority(tmp_path, NOW).pem.startswith(b"-----BEGIN CERTIFICATE")


def test_a_folder_that_refuses_is_told(tmp_path: Path) -> None:
    with pytest.raises(StorageError, match="cannot keep it"):
        kept_authority(tmp_path / "missing", NOW)


def test_own_names_leave_out_what_we_may_not_vouch_for() -> None:
    assert own_names("192.168.1.20")[0] == "192.168.1.20"
    assert "198.51.100.7" not in own_names("198.51.100.7")
    assert {"127.0.0.1", "localhost"} <= set(own_names("198.51.100.7"))
