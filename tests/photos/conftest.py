"""A site, its people, and a photo storage of its own for each test."""

import pytest
from django.core.files.storage import storages
from django.utils import timezone

from readiness.models import Builder, BuilderContact, Business, Site, User


@pytest.fixture(autouse=True)
def photo_folder(tmp_path, settings):
    """Each test stores photos in its own empty folder."""
    folder = tmp_path / "photos"
    backend = "django.core.files.storage.FileSystemStorage"
    settings.STORAGES = {
        **settings.STORAGES,
        "photos": {"BACKEND": backend, "OPTIONS": {"location": folder}},
        "papers": {"BACKEND": backend, "OPTIONS": {"location": tmp_path / "papers"}},
    }
    storages._storages = {}
    yield folder
    storages._storages = {}


@pytest.fixture
def applicator(db):
    Business.current()
    return User.objects.create_user(
        "pat@applicator.example", "a long password", name="Pat Quill", role="applicator"
    )


@pytest.fixture
def builder(db):
    return Builder.objects.create(name="Tern & Gable Homes")


@pytest.fixture
def contact(builder):
    user = User.objects.create_user("sam@ternandgable.example", name="Sam Ode", role="builder")
    BuilderContact.objects.create(user=user, builder=builder)
    return user


@pytest.fixture
def other_contact(db):
    other = Builder.objects.create(name="Plover Projects")
    user = User.objects.create_user("kim@plover.example", name="Kim Ash", role="builder")
    BuilderContact.objects.create(user=user, builder=other)
    return user


@pytest.fixture
def site(builder, applicator):
    return Site.objects.create(
        builder=builder,
        street="4 Wattlebird Loop",
        suburb="Quillan Vale",
        state="VIC",
        created_by=applicator,
        created_at=timezone.now(),
    )


def files_in(folder):
    """Every file under a folder, as names relative to it."""
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())
