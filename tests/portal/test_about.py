"""The About page: the keys that signed, since when, and whether each was signed by the last."""

import subprocess

import pytest

from readiness.evidence import checkpoints
from readiness.evidence.checkpoints import Reason
from readiness.models import SigningKey
from tests.evidence.test_checkpoints import entries
from tests.factories import make_applicator

pytestmark = pytest.mark.django_db


def page(client_for, user) -> str:
    answer = client_for(user).get("/about/")
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_before_anything_is_signed_there_is_no_key(client_for, contact):
    told = page(client_for, contact)
    assert "It does not show that what was recorded is true." in " ".join(told.split())
    assert "Public key" not in told


def test_the_key_is_there_as_openssl_reads_it(client_for, contact, site, tmp_path):
    entries(site, 2)
    made = checkpoints.make(Reason.DAILY)
    content = client_for(contact).get("/about/").content.decode()
    assert made.root in content
    start, end = "-----BEGIN PUBLIC KEY-----", "-----END PUBLIC KEY-----"
    pem = start + content.partition(start)[2].partition(end)[0] + end + "\n"
    (tmp_path / "key.pem").write_text(pem)
    command = ["openssl", "pkey", "-pubin", "-in", tmp_path / "key.pem", "-noout", "-text"]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    assert "ED25519 Public-Key" in said


@pytest.mark.parametrize("is_kept", [True, False])
def test_a_change_of_key_shows(client_for, contact, site, settings, is_kept):
    entries(site, 1)
    checkpoints.make(Reason.DAILY)
    path = settings.READINESS_DATA / "signing_key"
    if is_kept:
        path.rename(path.with_name("signing_key.old"))
    else:
        path.unlink()
    entries(site, 1)
    checkpoints.make(Reason.DAILY)
    told = page(client_for, contact)
    assert SigningKey.objects.count() == 2
    assert told.count("BEGIN PUBLIC KEY") == 2
    assert ("The key before signed that this one takes its place." in told) == is_kept
    assert ("Not signed by the key before it:" in told) == (not is_kept)
    status = client_for(make_applicator()).get("/office/status/").content.decode()
    assert ("which the key before did not sign" in status) == (not is_kept)
