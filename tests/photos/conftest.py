"""A site and the folder where the photos of a test lie."""

import pytest
from django.utils import timezone

from readiness.models import Site


@pytest.fixture
def photo_folder(tmp_path):
    """Where the shared settings of a test put photos."""
    return tmp_path / "photos"


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
