"""An export of a told site, made once in a process: many tests need nothing but its file."""

import io
import shutil
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from django.conf import settings
from django.db import transaction

from readiness import clock
from readiness.actions.photos.keeping import add_photo
from readiness.evidence import signing
from readiness.handover.along import Along
from readiness.handover.export import export_site
from readiness.models import Commitment, Said, User
from tests.evidence.story import tell
from tests.factories import make_applicator, make_builder, make_contact
from tests.handover.forging import give_bytes, make_site_with_secrets
from tests.photos.pictures import jpeg, scene


@dataclass(frozen=True)
class Told:
    content: bytes
    for_others: bytes
    """The export for the other side, with nothing of what stays here."""
    key: bytes
    owner: User
    """The owner of the business that it comes from: a row of that database, not of this one."""
    contact: User
    salts: tuple[str, ...]


@pytest.fixture
def told(db) -> Told:
    """Of a site with something of everything that the Record covers."""
    return _told()


@cache
def _told() -> Told:
    here = Path(settings.READINESS_DATA)
    before = transaction.savepoint()
    owner = make_applicator(email="owner@applicator.example", is_owner=True)
    builder = make_builder("Wattle Homes")
    contact = make_contact(builder, email="supervisor@wattle.example")
    site = make_site_with_secrets(builder, contact)
    tell(owner, contact, site)
    add_photo(contact, site, io.BytesIO(jpeg(scene(7), lat=-37.5, lon=145.25)))
    give_bytes(site)
    assert export_site(site, here / "told.zip").missing == []
    export_site(site, here / "part.zip", Along())
    rows, texts = Commitment.objects.filter(site=site), Said.objects.filter(entry__site=site)
    found = Told(
        (here / "told.zip").read_bytes(), (here / "part.zip").read_bytes(),
        signing.key_file().read_bytes(), owner, contact,
        tuple(kept.salt for kept in (*rows, *texts)),
    )  # fmt: skip
    transaction.savepoint_rollback(before)
    shutil.rmtree(here)
    here.mkdir()
    return found


@pytest.fixture
def for_others(told, exported, tmp_path) -> Path:
    """The export for the other side, signed with this portal's key."""
    path = tmp_path / "part.zip"
    path.write_bytes(told.for_others)
    return path


@pytest.fixture
def stranger(told, tmp_path) -> Path:
    """The export as it comes from another installation: no row here knows its key.

    The key itself lies here, for those who forge.
    """
    signing.key_file().write_bytes(told.key)
    path = tmp_path / "out.zip"
    path.write_bytes(told.content)
    return path


@pytest.fixture
def exported(told, stranger) -> Path:
    """The export where it was made, as far as that shows: signed with this portal's key."""
    signing.known(signing.private_key(), clock.now())
    return stranger
