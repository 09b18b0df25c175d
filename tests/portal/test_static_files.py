"""Scripts in production: each that is imported is there under the name it is imported by."""

import re
from io import StringIO

from django.core.management import call_command

IMPORTED = re.compile(r'\bfrom "\./([^"]+)"')


def test_every_imported_script_is_there_after_collecting(settings, tmp_path):
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "portal.static_store.StaticStore"}
    }
    call_command("collectstatic", interactive=False, stdout=StringIO())
    folder = tmp_path / "static" / "portal"
    imports = {
        (script.name, name)
        for script in folder.glob("*.js")
        for name in IMPORTED.findall(script.read_text())
    }
    assert len(imports) >= 6
    missing = [pair for pair in imports if not (folder / pair[1]).is_file()]
    assert missing == []
