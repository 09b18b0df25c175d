"""The installation's Ed25519 key (RFC 8032): the private half outside the database, always.

It comes from READINESS_SIGNING_KEY, else from a file in READINESS_DATA that is made on first use.
Each public key that ever signed stands in the database. Where another takes its place, the earlier
one signs that if its private half is still there: in the file (when the variable holds the new
one), or in a file whose name starts with the file's, such as `signing_key.old`.
"""

import base64
import binascii
import hashlib
import os
import secrets
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_der_public_key,
    load_pem_private_key,
)
from django.conf import settings

from readiness.evidence.notes import b64, moment
from readiness.models import LastDone, SigningKey

FILE = "signing_key"
CHANGED = "signing_key_changed"
"""The row of `LastDone` that tells the office of a key which the one before did not sign."""

PEM_START = b"-----BEGIN"


class BadKey(Exception):
    """The private key can't be read or made; the text says which and why."""


def key_file() -> Path:
    return Path(settings.READINESS_DATA) / FILE


def private_key() -> Ed25519PrivateKey:
    """The key that signs now; the file is made where there is none and no variable names one."""
    if settings.READINESS_SIGNING_KEY:
        return parsed(settings.READINESS_SIGNING_KEY.encode(), "READINESS_SIGNING_KEY")
    path = key_file()
    try:
        return _read(path)
    except FileNotFoundError:
        return _made(path)


def _read(path: Path) -> Ed25519PrivateKey:
    try:
        return parsed(path.read_bytes(), str(path))
    except FileNotFoundError:
        raise
    except OSError as error:
        raise BadKey(f"{path} can't be read: {error.strerror}.") from error


def parsed(text: bytes, where: str) -> Ed25519PrivateKey:
    """From PEM (PKCS #8, as `openssl genpkey -algorithm ed25519` writes), or 32 bytes in base64."""
    try:
        if text.strip().startswith(PEM_START):
            key = load_pem_private_key(text, password=None)
        else:
            key = Ed25519PrivateKey.from_private_bytes(
                base64.b64decode(text.strip(), validate=True)
            )
    except (ValueError, TypeError, binascii.Error) as error:
        raise BadKey(f"{where} holds no private key that can be read.") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise BadKey(f"{where} holds a key of another kind; it has to be Ed25519.")
    return key


def _made(path: Path) -> Ed25519PrivateKey:
    """A new key in its file, whole or not there; of two processes at once one makes it."""
    key = Ed25519PrivateKey.generate()
    making = path.with_name(f".{FILE}-{secrets.token_hex(8)}")
    try:
        path.parent.mkdir(mode=0o750, parents=True, exist_ok=True)
        descriptor = os.open(making, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(pem_of(key))
                file.flush()
                os.fsync(file.fileno())
            os.link(making, path)
        finally:
            making.unlink()
    except FileExistsError:
        return _read(path)
    except OSError as error:
        raise BadKey(f"{path} can't be made: {error.strerror}.") from error
    return key


def pem_of(key: Ed25519PrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def public_of(key: Ed25519PrivateKey) -> bytes:
    """The public half in DER: 44 bytes (RFC 8410, 4)."""
    return key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)


def public_pem(public: str) -> str:
    """As openssl reads it, from the base64 that is stored."""
    return f"-----BEGIN PUBLIC KEY-----\n{public}\n-----END PUBLIC KEY-----\n"


def id_of(public: bytes) -> str:
    """128 bits of its digest: a name, never a proof."""
    return hashlib.sha256(public).hexdigest()[:32]


def is_signed_by(public: bytes, signature: bytes, content: bytes) -> bool:
    """Whether this is the key's signature over the content; no for what is no Ed25519 key."""
    try:
        key = load_der_public_key(public)
        if not isinstance(key, Ed25519PublicKey):
            return False
        key.verify(signature, content)
    except (ValueError, InvalidSignature):
        return False
    return True


def known(private: Ed25519PrivateKey, at: datetime) -> SigningKey:
    """The row of its public half: made, as the successor of the latest, when it signs first."""
    public = public_of(private)
    row = SigningKey.objects.filter(pk=id_of(public)).first()
    if row is not None:
        return row
    before = SigningKey.objects.order_by("since").last()
    row = SigningKey(
        id=id_of(public), public=b64(public), since=at, portal=settings.SITE_URL, replaces=before
    )
    if before is not None:
        row.endorsement = _endorsed(row, before)
        if not row.endorsement:
            LastDone.note(CHANGED, key=row.pk)
    row.save(force_insert=True)
    return row


def change_text(key: SigningKey) -> bytes:
    """What an earlier key signs of the one that takes its place."""
    lines = (
        "site-readiness key 1",
        f"portal {key.portal}",
        f"key {key.public}",
        f"replaces {key.replaces_id}",
        f"time {moment(key.since)}",
    )
    return "".join(f"{line}\n" for line in lines).encode()


def is_endorsed(key: SigningKey) -> bool:
    """Whether the key before signed that this one takes its place."""
    if not key.endorsement:
        return False
    public = base64.b64decode(key.replaces.public)
    return is_signed_by(public, base64.b64decode(key.endorsement), change_text(key))


def _endorsed(key: SigningKey, before: SigningKey) -> str:
    for private in _at_hand():
        if id_of(public_of(private)) == before.pk:
            return b64(private.sign(change_text(key)))
    return ""


def _at_hand() -> Iterator[Ed25519PrivateKey]:
    """Every private key that lies in READINESS_DATA."""
    path = key_file()
    for found in sorted(path.parent.glob(f"{FILE}*")):
        try:
            yield _read(found)
        except (BadKey, OSError):
            continue
