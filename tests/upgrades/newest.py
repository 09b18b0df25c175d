"""The last of the portal's own migrations, for the throwaway ones that come after it."""

from pathlib import Path

from readiness import migrations


def newest() -> tuple[str, str]:
    """Its app and name."""
    names = sorted(path.stem for path in Path(migrations.__path__[0]).glob("[0-9]*.py"))
    return "readiness", names[-1]
