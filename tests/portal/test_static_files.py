"""Scripts and styles: what one names of another is there, under the name it is served by."""

import re
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.core.management import call_command

STATIC = Path(django_settings.BASE_DIR) / "portal/static/portal"
TEMPLATES = Path(django_settings.BASE_DIR) / "templates"
IMPORTED = re.compile(r'\bfrom "\./([^"]+)"')
DIGEST = re.compile(r"\.[0-9a-f]{12}\.js$")
ON_PAGE = r"""{} [^>]*(?:src|href)="{{% static 'portal/([\w-]+\.js)' %}}" """.strip()
LOADED = re.compile(ON_PAGE.format("<script type=.module."))
PRELOADED = re.compile(ON_PAGE.format("<link rel=.modulepreload."))


def test_every_imported_script_is_there_after_collecting(settings, tmp_path):
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "portal.static_store.StaticStore"}
    }
    # Names are what matters here, and compressing takes ten times as long as they do.
    others = settings.WHITENOISE_SKIP_COMPRESS_EXTENSIONS
    settings.WHITENOISE_SKIP_COMPRESS_EXTENSIONS = [*others, "css", "js", "json", "svg"]
    call_command("collectstatic", interactive=False, stdout=StringIO())
    folder = tmp_path / "static" / "portal"
    imports = {
        (script.name, name)
        for script in folder.glob("*.js")
        if DIGEST.search(script.name)
        for name in IMPORTED.findall(script.read_text())
    }
    assert len(imports) == sum(len(imports_of(path.name)) for path in STATIC.glob("*.js"))
    wrong = [pair for pair in imports if not (folder / pair[1]).is_file()]
    assert wrong == []
    assert [pair for pair in imports if not DIGEST.search(pair[1])] == []


def imports_of(script: str) -> list[str]:
    return IMPORTED.findall((STATIC / script).read_text())


def all_imports_of(script: str) -> set[str]:
    """What has to be there before a script runs, itself left out."""
    found: set[str] = set()
    waiting = [script]
    while waiting:
        for name in imports_of(waiting.pop()):
            if name not in found:
                found.add(name)
                waiting.append(name)
    return found


def pages_with_scripts() -> list[str]:
    pages = (path for path in TEMPLATES.rglob("*.html") if LOADED.search(path.read_text()))
    return sorted(path.relative_to(TEMPLATES).as_posix() for path in pages)


@pytest.mark.parametrize("page", pages_with_scripts())
def test_what_a_script_imports_is_on_its_way_with_it(page):
    """Each import that the page does not name costs a phone one more trip to the server."""
    base = (TEMPLATES / "portal/base.html").read_text()
    text = (TEMPLATES / page).read_text()
    named = {*LOADED.findall(base + text), *PRELOADED.findall(base + text)}
    needed = set().union(*(all_imports_of(script) for script in LOADED.findall(text)))
    assert needed - named == set()
    preloaded = set(PRELOADED.findall(text))
    assert preloaded <= needed, "not needed here"


def test_every_file_that_a_page_names_is_there():
    named = {
        (path.relative_to(TEMPLATES).as_posix(), name)
        for path in TEMPLATES.rglob("*.html")
        for name in re.findall(r"{% static ['\"]portal/([^'\"]+)['\"] %}", path.read_text())
    }
    assert len(named) > 50
    assert [pair for pair in sorted(named) if not (STATIC / pair[1]).is_file()] == []


def test_no_script_is_loaded_but_as_a_module():
    plain = re.compile(r"<script(?! type=.module.)[^>]*static 'portal/")
    assert [path for path in TEMPLATES.rglob("*.html") if plain.search(path.read_text())] == []
    assert len(pages_with_scripts()) >= 10


def test_every_name_of_a_colour_or_size_has_a_value():
    sheets = {path.name: path.read_text() for path in STATIC.glob("*.css")}
    defined = set(re.findall(r"(--[\w-]+):", sheets["theme.css"]))
    used = {
        (sheet, name)
        for sheet, text in sheets.items()
        for name in re.findall(r"var\((--[\w-]+)", text)
        if not name.startswith("--bs-")
    }
    assert len(used) > 100
    assert [pair for pair in sorted(used) if pair[1] not in defined] == []
    unused = {name for name in defined if not name.startswith("--bs-")} - {name for _, name in used}
    assert unused == set()
