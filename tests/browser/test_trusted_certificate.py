"""The phones' door over TLS with the app's own certificate, trusted by hand: a phone starts without the laptop.

"By hand" is what a person does in the phone's settings: here the certificate goes into the browser's own list (certutil
of NSS). Where that tool lacks, the key is named to the browser, and the same must work.
"""

from __future__ import annotations

import base64
import hashlib
import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from fastapi import FastAPI
from playwright.sync_api import Browser, Page, expect

from app.security.certificate import files_in
from app.security.pairing import PairingDesk
from app.web.phone_door import own_addresses
from tests.browser.conftest import PROGRAMS, OpenPage, PhoneDoorway
from tests.browser.screens import start_run_through
from tests.browser.test_goes_on_alone import log, log_kept, ready, tap

pytestmark = pytest.mark.browser


def trust_by_hand(certificate: Path, home: Path) -> None:
    """What a person does in the settings; a certificate that may sign nothing is trusted as a peer."""
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    database = ["-d", f"sql:{store}"]
    subprocess.run(["certutil", "-N", *database, "--empty-password"], check=True)
    add = ["certutil", "-A", *database, "-n", "Recoup", "-t", "P,,", "-i", str(certificate)]
    subprocess.run(add, check=True)


def named_key(certificate: Path) -> str:
    """The key of a certificate as the browser wants it named."""
    key = x509.load_pem_x509_certificate(certificate.read_bytes()).public_key()
    seen = hashlib.sha256(key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)).digest()
    return base64.b64encode(seen).decode()


@pytest.fixture
def laptop(open_page: OpenPage) -> Iterator[Page]:
    """The laptop's page of phones, with a certificate; back to plain http afterwards."""
    if not own_addresses():
        pytest.skip("this machine is in no network: no phone could reach it")
    page = open_page("/phones")
    page.locator("summary", has_text="Encrypt the link, step by step").click()
    page.get_by_role("button", name="Make a certificate").click()
    expect(page.locator(".fingerprint")).to_be_attached()
    yield page
    page.goto(page.url)
    page.get_by_role("button", name="Remove it: back to plain HTTP").click()
    expect(page.get_by_text("Encrypt the link, step by step")).to_be_visible()


@pytest.fixture(params=["trusted by hand", "named to the browser"])
def trusting(
    request: pytest.FixtureRequest, laptop: Page, served: FastAPI, chromium: Browser, tmp_path: Path
) -> Iterator[Browser]:
    """A browser that trusts the laptop's certificate."""
    certificate, _ = files_in(served.state.settings.data_dir)
    args = ["--no-sandbox"]
    if request.param == "trusted by hand":
        if shutil.which("certutil") is None:
            pytest.skip(
                "certutil (libnss3-tools) is not installed: nobody can trust a certificate here by hand"
            )
        trust_by_hand(certificate, tmp_path)
    else:
        args.append(f"--ignore-certificate-errors-spki-list={named_key(certificate)}")
    program = os.environ.get("RECOUP_CHROMIUM") or next(filter(None, map(shutil.which, PROGRAMS)), None)
    browser = chromium.browser_type.launch(
        executable_path=program, args=args, env={**os.environ, "HOME": str(tmp_path)}
    )
    yield browser
    browser.close()


def test_a_phone_that_trusts_the_certificate_starts_without_the_laptop_and_loses_nothing(
    laptop: Page, trusting: Browser, served: FastAPI, open_page: OpenPage
) -> None:
    live = start_run_through(open_page())
    served.state.pairing_desk = PairingDesk(time.monotonic)
    door = PhoneDoorway(laptop, trusting)
    assert door.address.startswith("https://")
    phone = door.pair("coach", "trusting")
    phone.evaluate("async () => { await navigator.serviceWorker.ready; }")
    phone.goto(door.address + live[live.index("/live/") :])
    ready(phone)
    laptop.get_by_role("button", name="Shut phones out").click()
    expect(laptop.get_by_role("button", name="Let phones in")).to_be_visible()
    phone.reload()
    expect(phone.locator("#board[data-local]")).to_have_count(1)
    tap(phone, 1)
    expect(phone.locator(".pad h2")).to_contain_text("Pass 2 of")
    phone.reload()
    tap(phone, 2)
    expect(phone.locator(".pad h2")).to_contain_text("Pass 3 of")
    laptop.get_by_role("button", name="Let phones in").click()
    expect(laptop.locator(".address").first).to_have_text(door.address)
    expect(phone.locator("#board[data-local]")).to_have_count(0, timeout=30_000)
    assert log_kept(phone) == []
    assert [entry["payload"]["number"] for entry in log(laptop, live)] == [1, 2]
    door.close()
