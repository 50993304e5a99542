from __future__ import annotations

import datetime as dt
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from hypothesis import given
from hypothesis import strategies as st
from rfc3161_client import decode_timestamp_response
from starlette.testclient import TestClient

from shutline.car.errors import BrokenWorldError, UserError
from shutline.cli import main
from shutline.sealed import Packed, ask_stamp, check, opened_tree, read_stamp
from shutline.sealed.stamp_order import in_der_order
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.buyer_choice import BuyerChoice, keep_buyer_choice
from shutline.web import Access, workbench

CONFIG = """
[tsa]
default_tsa = here
[here]
serial = {folder}/serial
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256, sha384, sha512
accuracy = secs:1
"""


@dataclass
class Service:
    """A time-stamp service: openssl answers what it is asked over HTTP."""

    address: str
    folder: Path
    root: x509.Certificate
    asked: list[bytes] = field(default_factory=list)
    broken: str = ""
    chain: bool = False


def _certificate(
    name: str, key: ec.EllipticCurvePrivateKey, *, by: str, with_key: ec.EllipticCurvePrivateKey, root: bool
) -> x509.Certificate:
    now = dt.datetime.now(dt.UTC)
    builder = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]))
        .issuer_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, by)]))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(days=1))
        .not_valid_after(now + dt.timedelta(days=30))
        .add_extension(x509.BasicConstraints(ca=root, path_length=None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(with_key.public_key()), critical=False)
        .add_extension(
            x509.KeyUsage(
                digital_signature=not root,
                key_cert_sign=root,
                crl_sign=root,
                content_commitment=False,
                key_encipherment=False,
                data_encipherment=False,
                key_agreement=False,
                encipher_only=False,
                decipher_only=False,
            ),
            critical=True,
        )
    )
    if not root:
        builder = builder.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING]), critical=True)
    return builder.sign(with_key, hashes.SHA256())


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    folder = tmp_path / "service"
    folder.mkdir()
    root_key, key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    root = _certificate("Hour Root", root_key, by="Hour Root", with_key=root_key, root=True)
    own = _certificate("Hour Stamps", key, by="Hour Root", with_key=root_key, root=False)
    (folder / "root.pem").write_bytes(root.public_bytes(Encoding.PEM))
    (folder / "own.pem").write_bytes(own.public_bytes(Encoding.PEM))
    (folder / "key.pem").write_bytes(_pem(key))
    (folder / "serial").write_text("01\n")
    (folder / "tsa.cnf").write_text(CONFIG.format(folder=folder))

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"]))
            made.asked.append(body)
            (folder / "q.tsq").write_bytes(body)
            answer = b"nonsense"
            if made.broken != "nonsense":
                query = folder / "q.tsq"
                if made.broken == "other":
                    query = folder / "other.tsq"
                    ask = ["openssl", "ts", "-query", "-data", str(folder / "root.pem"), "-sha512", "-cert"]
                    subprocess.run([*ask, "-out", str(query)], check=True, capture_output=True)
                command = ["openssl", "ts", "-reply", "-config", str(folder / "tsa.cnf"), "-queryfile", str(query)]
                more = ["-inkey", str(folder / "key.pem"), "-signer", str(folder / "own.pem")]
                more += ["-chain", str(folder / "root.pem")] if made.chain else []
                subprocess.run([*command, *more, "-out", str(folder / "a.tsr")], check=True, capture_output=True)
                answer = (folder / "a.tsr").read_bytes()
            self.send_response(503 if made.broken == "503" else 200)
            self.send_header("content-type", "application/timestamp-reply")
            self.send_header("content-length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *_: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Answering)
    made = Service(f"http://127.0.0.1:{server.server_port}/stamp", folder, root)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    yield made
    server.shutdown()
    server.server_close()
    thread.join(10)


def test_a_stamp_with_its_root_inside_is_taken_as_openssl_takes_it(service: Service) -> None:
    """OpenSSL writes signer and root as they come, and not in the order that DER asks for."""
    service.chain = True
    response = ask_stamp(b"a list of files", service.address)
    with pytest.raises(ValueError, match=r"ASN\.1"):
        decode_timestamp_response(response)
    stamp = read_stamp(response, b"a list of files", roots=[service.root])
    assert (stamp.fits, stamp.trusted, stamp.by) == (True, True, "CN=Hour Stamps")
    assert not read_stamp(response, b"another list", roots=[service.root]).fits
    assert len(in_der_order(response)) == len(response)
    assert in_der_order(in_der_order(response)) == in_der_order(response)


@given(st.binary(max_size=40))
def test_what_is_no_answer_is_left_as_it_is(data: bytes) -> None:
    assert in_der_order(data) == data or sorted(in_der_order(data)) == sorted(data)


def test_a_stamp_is_had_and_says_when_and_by_whom(service: Service) -> None:
    response = ask_stamp(b"a list of files", service.address)
    stamp = read_stamp(response, b"a list of files", roots=[service.root])
    assert stamp.fits
    assert stamp.trusted is True
    assert stamp.by == "CN=Hour Stamps"
    at = dt.datetime.fromisoformat(stamp.at)
    assert abs((dt.datetime.now(dt.UTC) - at).total_seconds()) < 120


def test_only_a_hash_is_sent(service: Service) -> None:
    ask_stamp(b"Mr Harbottle, 3 Mill Lane", service.address)
    (asked,) = service.asked
    assert b"Harbottle" not in asked
    assert len(asked) < 150


def test_openssl_verifies_the_stamp_of_a_sealed_file(service: Service, sealed: Callable[..., Packed]) -> None:
    folder = sealed(stamp=lambda data: ask_stamp(data, service.address)).folder
    command = ["openssl", "ts", "-verify", "-in", "seal/time-stamp.tsr", "-data", "manifest-sha512.txt"]
    ran = subprocess.run(
        [*command, "-CAfile", str(service.folder / "root.pem")], check=False, cwd=folder, capture_output=True, text=True
    )
    assert ran.returncode == 0, ran.stderr
    assert "Verification: OK" in ran.stdout
    with opened_tree(folder) as tree:
        found = check(tree, roots=[service.root])
    assert found.sound
    assert found.stamp is not None
    assert found.stamp.trusted is True


def test_a_byte_of_a_stamp_that_is_changed_is_named(service: Service, sealed: Callable[..., Packed]) -> None:
    folder = sealed(stamp=lambda data: ask_stamp(data, service.address)).folder
    path = folder / "seal/time-stamp.tsr"
    whole = path.read_bytes()
    for at in range(0, len(whole), 7):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        with opened_tree(folder) as tree:
            found = check(tree)
        assert [(one.kind, one.name) for one in found.faults] == [("changed", "seal/time-stamp.tsr")], at


def test_a_stamp_of_something_else_does_not_fit(service: Service) -> None:
    response = ask_stamp(b"one", service.address)
    assert not read_stamp(response, b"two").fits
    assert not read_stamp(b"", b"two").fits
    another = read_stamp(response, b"one", roots=[_other_root()])
    assert another.fits
    assert another.trusted is False
    assert another.found


def test_without_roots_nothing_is_said_of_whose_it_is(service: Service) -> None:
    stamp = read_stamp(ask_stamp(b"one", service.address), b"one")
    assert stamp.fits
    assert stamp.trusted is None


@pytest.mark.parametrize("broken", ["nonsense", "503", "other"])
def test_an_answer_that_is_no_stamp_of_it_is_refused(service: Service, broken: str) -> None:
    service.broken = broken
    with pytest.raises(BrokenWorldError) as refused:
        ask_stamp(b"one", service.address)
    assert refused.value.problem.slug == "stamp-not-had"


def test_a_service_that_cannot_be_reached_leaves_no_sealed_file(sealed: Callable[..., Packed], tmp_path: Path) -> None:
    with pytest.raises(BrokenWorldError):
        sealed("x", stamp=lambda data: ask_stamp(data, "http://127.0.0.1:9/", timeout_s=2))
    assert not (tmp_path / "x").exists()
    assert not list(tmp_path.glob(".x*"))


@pytest.mark.parametrize("address", ["", "file:///etc/passwd", "ftp://a/", "http://", "http://[::1"])
def test_an_address_that_is_none_is_refused(address: str) -> None:
    with pytest.raises(UserError) as refused:
        ask_stamp(b"one", address)
    assert refused.value.problem.slug == "stamp-address"


def _other_root() -> x509.Certificate:
    key = ec.generate_private_key(ec.SECP256R1())
    return _certificate("Another", key, by="Another", with_key=key, root=True)


def test_the_workbench_has_it_stamped_by_the_service_in_the_settings_and_signs_with_the_phrase(
    service: Service, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """At the workbench and by command: over a key under a pass phrase, against a service on this machine."""
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own/settings.toml"))
    monkeypatch.setenv("SHUTLINE_NEW_SEAL_PHRASE", "a wet Sunday")
    keep_buyer_choice(BuyerChoice(stamp=service.address), author="Ida")
    assert main(["seal-key", "--lock"]) == 0
    assert "It is under a pass phrase." in capsys.readouterr().out
    walk = tmp_path / "walk.vtt"
    walk.write_text("WEBVTT\n\n00:01.000 --> 00:04.000\nThe bonnet is straight.\n", encoding="utf-8")
    with Store.open(tmp_path / "store") as store:
        add(store, [walk], car="grey", title="Averley Curlew")
        access = Access(hosts=frozenset({"127.0.0.1:8766"}), author="Ida Quill")
        client = TestClient(workbench(store, access), base_url="http://127.0.0.1:8766", headers={"accept": "text/html"})
        client.get(f"/open/{access.token}")
        (session,) = access._sessions.values()
        client.headers["shutline-proof"] = session.proof
        page = client.get("/cars/grey/buyer").text
        assert service.address in page
        assert "Pass phrase of your key" in page
        for phrase in ({}, {"phrase": "a dry Sunday"}):
            sent = {"occasion": "offered", "stamped": True, **phrase}
            refused = client.post("/cars/grey/buyer/seal", json=sent, headers={"accept": "application/json"})
            assert (refused.status_code, refused.json()["error"]["slug"]) == (400, "seal-key-locked")
        sent = {"occasion": "offered", "stamped": True, "phrase": "a wet Sunday"}
        assert client.post("/cars/grey/buyer/seal", json=sent).status_code == 200
        until = time.monotonic() + 120
        while not (there := client.get("/cars/grey/buyer.json").json())["under_way"]["ended"]:
            assert time.monotonic() < until
            time.sleep(0.2)
        assert there["under_way"]["problem"] is None
        (one,) = there["sealed"]["sealed"]
        assert one["stamped"]
        with opened_tree(Path(one["folder"])) as tree:
            found = check(tree, roots=[service.root])
        assert found.stamp is not None
        assert (found.sound, found.stamp.trusted) == (True, True)
        assert "a wet Sunday" not in client.get("/cars/grey/buyer.json").text
    there_too = ["--store", str(tmp_path / "store"), "--out", str(tmp_path / "out")]
    monkeypatch.setenv("SHUTLINE_SEAL_PHRASE", "a dry Sunday")
    assert main(["seal", "grey", "--as", "offered", *there_too]) == 2
    assert "pass phrase" in capsys.readouterr().err
    monkeypatch.setenv("SHUTLINE_SEAL_PHRASE", "a wet Sunday")
    assert main(["seal", "grey", "--as", "offered", *there_too]) == 0
    (folder,) = (path for path in (tmp_path / "out").iterdir() if path.is_dir())
    capsys.readouterr()
    assert main(["verify", str(folder)]) == 0
    assert "your own" in capsys.readouterr().out
    assert main(["seal-key", "--unlock"]) == 0
    assert main(["seal-key", "--json"]) == 0
    assert '"locked": false' in capsys.readouterr().out
