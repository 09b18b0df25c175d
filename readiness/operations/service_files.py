"""Units for systemd and a site for nginx, as text for this machine."""

import grp
import os
import pwd
import re
import sys
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from readiness.operations import Trouble

TEXTS = Path(__file__).parent / "service"
UNITS = ("web.service", "worker.service", "backup.service", "backup.timer")
PLACEHOLDER = re.compile(r"@([A-Z_]+)@")
NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
NAME_LENGTH = 40
PHOTOS_BY_NGINX = re.compile(r"    location /kept-photos/ \{.*?\n    \}\n", re.DOTALL)


@dataclass(frozen=True)
class Place:
    """Where an installation lies on this machine, and who runs it."""

    name: str
    user: str
    group: str
    project: str
    python: str
    env_file: str
    data: str
    backups: str
    host: str
    port: int
    workers: int
    photos_here: bool = True
    certificate: str = "/etc/ssl/portal/fullchain.pem"
    key: str = "/etc/ssl/portal/privkey.pem"


def place_here(
    name: str, user: str, *, env_file: Path, backups: Path, port: int, workers: int
) -> Place:
    """This installation as it runs now. Raises ``Trouble`` for what systemd could not use."""
    refuse_bad_name(name)
    account = account_of(user)
    return Place(
        name=name,
        user=account.pw_name,
        group=grp.getgrgid(account.pw_gid).gr_name,
        project=_path(settings.BASE_DIR),
        python=_path(sys.executable),
        env_file=_path(env_file),
        data=_path(settings.READINESS_DATA),
        backups=_path(backups),
        host=next(iter(settings.ALLOWED_HOSTS), "ready.example.com"),
        port=port,
        workers=workers,
        photos_here="location" in settings.STORAGES["photos"].get("OPTIONS", {})
        and "bucket_name" not in settings.STORAGES["photos"]["OPTIONS"],
    )


def refuse_bad_name(name: str) -> None:
    """Names become parts of file and unit names."""
    if not NAME.fullmatch(name) or len(name) > NAME_LENGTH:
        raise Trouble(
            f"“{name}” is no name for an installation: use small letters, digits and single "
            f"hyphens, a letter first, at most {NAME_LENGTH} in all."
        )


def account_of(user: str) -> pwd.struct_passwd:
    """The account that services run as: the named one, else who runs this. Never root."""
    try:
        account = pwd.getpwnam(user) if user else pwd.getpwuid(os.geteuid())
    except KeyError as error:
        raise Trouble(
            f"There is no user {user or os.geteuid()} on this machine: "
            f"adduser --system --group {user or 'readiness'}"
        ) from error
    if account.pw_uid == 0:
        raise Trouble("The portal does not run as root: name its user with --user.")
    return account


def _path(path: Path | str) -> str:
    """A path that systemd and nginx take without quotes or escapes."""
    text = os.path.abspath(path)
    if not re.fullmatch(r"[\w./+:=@-]+", text, re.ASCII):
        raise Trouble(f"{text} can't stand in a unit: use a path of plain letters and no spaces.")
    return text


def service_files(place: Place) -> dict[str, str]:
    """File name and text of each unit, and of nginx's site."""
    files = {f"{place.name}-{unit}": _filled(unit, place) for unit in UNITS}
    return files | {f"{place.name}-nginx.conf": nginx_site(place)}


def nginx_site(place: Place) -> str:
    """The proxy's configuration; without the photos where they lie in a bucket."""
    text = _filled("nginx.conf", place)
    return text if place.photos_here else PHOTOS_BY_NGINX.sub("", text)


def _filled(name: str, place: Place) -> str:
    values = {key.upper(): str(value) for key, value in vars(place).items()}
    for part in ("common", "hardening"):
        values[part.upper()] = _fill((TEXTS / part).read_text().rstrip("\n"), values)
    return _fill((TEXTS / name).read_text(), values)


def _fill(text: str, values: dict[str, str]) -> str:
    return PLACEHOLDER.sub(lambda found: values[found[1]], text)


def write(files: dict[str, str], folder: Path) -> None:
    """Raises ``Trouble``."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            (folder / name).write_text(text)
    except OSError as error:
        raise Trouble(f"{folder} can't be written: {error.strerror or error}.") from error


def how_to_install(place: Place) -> list[str]:
    """What the operator does with the files, as commands for root."""
    return [
        f"install -d -o {place.user} -g {place.group} -m 700 {place.backups}",
        f"cp {place.name}-*.service {place.name}-*.timer /etc/systemd/system/",
        "systemctl daemon-reload",
        f"systemctl enable --now {place.name}-web {place.name}-worker {place.name}-backup.timer",
        f"cp {place.name}-nginx.conf /etc/nginx/conf.d/   # certificates first",
        f"adduser www-data {place.group}   # nginx reads the photos",
        "nginx -t && systemctl reload nginx",
    ]
