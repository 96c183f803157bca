"""The page's own certificate, as an independent reader of X.509 and of TLS sees it."""

import hashlib
import re
import socket
import ssl
import stat
import threading
from pathlib import Path

import pytest

from dashboard.own_certificate import fingerprint, own_certificate
from tests.lies import LIES, put


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost"])
def test_a_client_that_trusts_it_connects_to_this_host_and_to_no_other(tmp_path: Path, host: str) -> None:
    certificate, key = own_certificate(tmp_path, host)
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serving.load_cert_chain(certificate, key)
    trusting = ssl.create_default_context(cafile=str(certificate))

    def connect(name: str) -> bytes:
        ours, theirs = socket.socketpair()
        server = threading.Thread(target=_serve, args=(serving, theirs), daemon=True)
        server.start()
        with trusting.wrap_socket(ours, server_hostname=name) as tls:
            shown = tls.getpeercert(binary_form=True)
        server.join(5)
        assert shown is not None
        return shown

    assert ssl.DER_cert_to_PEM_cert(connect(host)) == certificate.read_text("ascii")
    with pytest.raises(ssl.SSLCertVerificationError):
        connect("bench.example")


def _serve(serving: ssl.SSLContext, stream: socket.socket) -> None:
    try:
        with serving.wrap_socket(stream, server_side=True) as tls:
            tls.recv(1)
    except OSError:
        stream.close()


def test_it_is_kept_and_its_key_is_ours_alone(tmp_path: Path) -> None:
    certificate, key = own_certificate(tmp_path, "192.0.2.7")
    before = certificate.read_bytes()
    assert own_certificate(tmp_path, "192.0.2.7") == (certificate, key)
    assert certificate.read_bytes() == before
    assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert own_certificate(tmp_path, "192.0.2.8")[0].read_bytes() != before


def test_the_fingerprint_is_that_of_its_bytes(tmp_path: Path) -> None:
    certificate, _ = own_certificate(tmp_path, "localhost")
    digest = hashlib.sha256(ssl.PEM_cert_to_DER_cert(certificate.read_text("ascii"))).hexdigest().upper()
    assert fingerprint(certificate).replace(":", "") == digest


@pytest.mark.timeout(20)
@pytest.mark.parametrize("lie", [lie for lie in LIES if lie != "a directory"])
def test_where_something_else_is_another_is_made_and_that_is_told(
    tmp_path: Path, lie: str, caplog: pytest.LogCaptureFixture
) -> None:
    certificate, _ = own_certificate(tmp_path, "192.0.2.7")
    put(lie, certificate)
    own_certificate(tmp_path, "192.0.2.7")
    assert fingerprint(certificate)
    assert f"{certificate} is no certificate" in caplog.text


def test_a_folder_in_its_place_is_an_error_that_names_it(tmp_path: Path) -> None:
    certificate, _ = own_certificate(tmp_path, "192.0.2.7")
    put("a directory", certificate)
    with pytest.raises(OSError, match=re.escape(str(certificate))):
        own_certificate(tmp_path, "192.0.2.7")
