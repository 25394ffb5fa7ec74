"""The laptop's own certificate: an independent TLS stack accepts it when told to trust it, and the key is private."""

from __future__ import annotations

import hashlib
import socket
import ssl
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Thread

import pytest

from app.security.certificate import DAYS, files_in, make, read, remove

NOW = datetime.now(UTC)


def shake_hands(server: ssl.SSLContext, client: ssl.SSLContext, name: str) -> bytes:
    """The certificate a client got in a handshake over a socket pair. Raises what the client raises."""
    ours, theirs = socket.socketpair()

    def serve() -> None:
        try:
            server.wrap_socket(ours, server_side=True).close()
        except (OSError, ssl.SSLError):
            ours.close()

    thread = Thread(target=serve)
    thread.start()
    try:
        with client.wrap_socket(theirs, server_hostname=name) as talking:
            return talking.getpeercert(binary_form=True) or b""
    finally:
        theirs.close()
        thread.join()


def contexts(folder: Path) -> tuple[ssl.SSLContext, ssl.SSLContext]:
    """A server with our files, and a client that trusts our certificate and nothing else (OpenSSL's own checks)."""
    certificate_file, key_file = files_in(folder)
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(certificate_file, key_file)
    client = ssl.create_default_context(cafile=str(certificate_file))
    return server, client


def test_a_client_told_to_trust_it_shakes_hands_and_sees_the_fingerprint_shown(tmp_path: Path) -> None:
    made = make(tmp_path, ["192.0.2.7", "localhost"], NOW)
    for name in ("192.0.2.7", "localhost"):
        seen = shake_hands(*contexts(tmp_path), name)
        assert hashlib.sha256(seen).hexdigest().upper() == made.fingerprint.replace(" ", "")


def test_another_address_is_refused(tmp_path: Path) -> None:
    make(tmp_path, ["192.0.2.7"], NOW)
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(*contexts(tmp_path), "192.0.2.8")


def test_a_client_that_was_not_told_refuses_it(tmp_path: Path) -> None:
    make(tmp_path, ["192.0.2.7"], NOW)
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(contexts(tmp_path)[0], ssl.create_default_context(), "192.0.2.7")


def test_the_files_are_for_their_owner_alone(tmp_path: Path) -> None:
    make(tmp_path, ["192.0.2.7"], NOW)
    for file in files_in(tmp_path):
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert sorted(tmp_path.iterdir()) == sorted(files_in(tmp_path))


def test_it_is_read_again_until_it_runs_out_or_is_removed(tmp_path: Path) -> None:
    assert read(tmp_path, NOW) is None
    made = make(tmp_path, ["192.0.2.7"], NOW)
    assert read(tmp_path, NOW) == made
    assert made.covers("192.0.2.7")
    assert not made.covers("192.0.2.8")
    assert read(tmp_path, NOW + timedelta(days=DAYS + 1)) is None
    again = make(tmp_path, ["192.0.2.8"], NOW)
    assert again.fingerprint != made.fingerprint
    remove(tmp_path)
    assert read(tmp_path, NOW) is None
    assert list(tmp_path.iterdir()) == []
