"""The installation's key: RFC 8032's vectors, where it comes from, and what a change shows."""

import base64
import stat
import subprocess
from datetime import timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from readiness import clock
from readiness.evidence import signing
from readiness.models import LastDone, SigningKey

# RFC 8032, 7.1: secret key, public key, message, signature.
VECTORS = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
]


@pytest.mark.parametrize(("secret", "public", "message", "signature"), VECTORS)
def test_signatures_are_those_of_rfc_8032(secret, public, message, signature):
    key = signing.parsed(base64.b64encode(bytes.fromhex(secret)), "here")
    der = signing.public_of(key)
    assert der[-32:].hex() == public
    made = key.sign(bytes.fromhex(message))
    assert made.hex() == signature
    assert signing.is_signed_by(der, made, bytes.fromhex(message))
    assert not signing.is_signed_by(der, made, bytes.fromhex(message) + b"x")
    assert not signing.is_signed_by(der, made[:-1] + bytes([made[-1] ^ 1]), b"")


def test_what_is_no_key_has_signed_nothing():
    assert not signing.is_signed_by(b"", bytes(64), b"")
    assert not signing.is_signed_by(bytes(44), bytes(64), b"")


def test_the_key_is_made_once_in_a_file_for_the_owner_only(settings):
    first = signing.private_key()
    path = settings.READINESS_DATA / "signing_key"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert signing.public_of(signing.private_key()) == signing.public_of(first)
    assert [found.name for found in settings.READINESS_DATA.iterdir()] == ["signing_key"]


def test_openssl_reads_the_key_and_we_read_openssls(settings):
    path = settings.READINESS_DATA / "signing_key"
    subprocess.run(["openssl", "genpkey", "-algorithm", "ed25519", "-out", path], check=True)
    public = subprocess.run(
        ["openssl", "pkey", "-in", path, "-pubout"], check=True, capture_output=True, text=True
    ).stdout
    made = signing.public_of(signing.private_key())
    assert signing.public_pem(base64.b64encode(made).decode()) == public


def test_the_variable_goes_before_the_file(settings):
    in_file = signing.public_of(signing.private_key())
    settings.READINESS_SIGNING_KEY = base64.b64encode(bytes(range(32))).decode()
    in_variable = signing.public_of(signing.private_key())
    assert in_variable != in_file
    key = signing.parsed(settings.READINESS_SIGNING_KEY.encode(), "here")
    settings.READINESS_SIGNING_KEY = signing.pem_of(key).decode()
    assert signing.public_of(signing.private_key()) == in_variable


def test_a_key_that_can_not_be_used_is_named(settings):
    other = X25519PrivateKey.generate().private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()
    )
    for text, why in (
        ("nonsense", "no private key"),
        (base64.b64encode(bytes(31)).decode(), "no private key"),
        (other.decode(), "has to be Ed25519"),
    ):
        settings.READINESS_SIGNING_KEY = text
        with pytest.raises(signing.BadKey, match=why) as caught:
            signing.private_key()
        assert text not in str(caught.value)
    settings.READINESS_SIGNING_KEY = ""
    (settings.READINESS_DATA / "signing_key").write_text("")
    with pytest.raises(signing.BadKey, match="signing_key"):
        signing.private_key()


@pytest.mark.django_db
def test_the_first_key_takes_nobodys_place():
    key = signing.known(signing.private_key(), clock.now())
    assert key.replaces is None
    assert key.endorsement == ""
    assert len(key.pk) == 32
    assert signing.known(signing.private_key(), clock.now()) == key


@pytest.mark.django_db
def test_a_new_key_is_signed_by_the_old_one_that_was_put_aside(settings):
    first = signing.known(signing.private_key(), clock.now())
    path = settings.READINESS_DATA / "signing_key"
    path.rename(path.with_name("signing_key.old"))
    second = signing.known(signing.private_key(), clock.now() + timedelta(days=1))
    assert second.replaces == first
    assert signing.is_endorsed(second)
    # Whoever changes what it says finds the signature broken.
    second.since += timedelta(days=1)
    assert not signing.is_endorsed(second)


@pytest.mark.django_db
def test_a_key_in_the_variable_is_signed_by_the_one_in_the_file(settings):
    signing.known(signing.private_key(), clock.now())
    new = Ed25519PrivateKey.generate()
    settings.READINESS_SIGNING_KEY = signing.pem_of(new).decode()
    assert signing.is_endorsed(signing.known(signing.private_key(), clock.now()))


@pytest.mark.django_db
def test_a_key_that_came_when_the_old_one_was_lost_says_so(settings):
    signing.known(signing.private_key(), clock.now())
    (settings.READINESS_DATA / "signing_key").unlink()
    second = signing.known(signing.private_key(), clock.now())
    assert second.replaces is not None
    assert not signing.is_endorsed(second)
    assert SigningKey.objects.count() == 2
    assert LastDone.objects.get(name=signing.CHANGED).details == {"key": second.pk}


@pytest.mark.django_db
def test_a_key_that_the_old_one_signed_is_nothing_to_tell(settings):
    signing.known(signing.private_key(), clock.now())
    path = settings.READINESS_DATA / "signing_key"
    path.rename(path.with_name("signing_key.old"))
    signing.known(signing.private_key(), clock.now())
    assert not LastDone.objects.filter(name=signing.CHANGED).exists()
