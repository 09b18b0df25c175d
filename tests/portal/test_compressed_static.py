"""The demo's styles and scripts go to a phone compressed."""

import gzip
import re

from django.contrib.staticfiles import finders

from portal.compressed_static import gather

ON_EVERY_PAGE = ("bootstrap/css/bootstrap.min.css", "portal/theme.css", "portal/base.js")


def test_every_file_is_there_as_it_is_and_compressed(tmp_path):
    gather(tmp_path)
    for name in ON_EVERY_PAGE:
        found = (tmp_path / name).read_bytes()
        with open(finders.find(name), "rb") as source:
            assert source.read() == found
        packed = tmp_path / f"{name}.gz"
        assert gzip.decompress(packed.read_bytes()) == found
        assert packed.stat().st_size < 0.5 * len(found)
    assert not list(tmp_path.rglob("*.map.gz"))


def test_what_is_there_already_is_left(tmp_path):
    gather(tmp_path)
    theme = tmp_path / "portal/theme.css.gz"
    theme.write_bytes(b"left")
    gather(tmp_path)
    assert theme.read_bytes() == b"left"
    changed = tmp_path / "portal/theme.css"
    changed.write_text("of an earlier version")
    gather(tmp_path)
    assert re.search(rb"\.state", gzip.decompress(theme.read_bytes()))
    assert changed.read_bytes() == gzip.decompress(theme.read_bytes())
