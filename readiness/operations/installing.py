"""A new installation beside others on one machine: its folder, secrets, database and units.

One program serves them all; each has its own data, key, mail server and processes.
"""

import os
import re
import secrets
import shutil
import socket
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from readiness.operations import Trouble, disk
from readiness.operations.service_files import account_of, refuse_bad_name

ENV_FILE = "settings.env"
FIRST_PORT, LAST_PORT = 8001, 8999
OURS = re.compile(r"(READINESS_|SECRET_KEY|DATABASE_URL|EMAIL_URL|ALLOWED_HOSTS|DEFAULT_FROM)")
PLAIN_VALUE = re.compile(r"[^\s'\"\\$`#;&|<>()]*")
HOST = re.compile(r"[a-z0-9]([a-z0-9.-]*[a-z0-9])?")
NO_MAIL_YET = "smtp://127.0.0.1:25"


@dataclass(frozen=True)
class Wanted:
    """What the operator says of the new installation."""

    name: str
    root: Path
    host: str
    user: str = ""
    email_url: str = ""
    database_url: str = ""
    owner_database_url: str = ""  # only to migrate with, where another role owns the tables
    port: int | None = None


@dataclass(frozen=True)
class New:
    """What was made."""

    folder: Path
    env_file: Path
    units: Path
    port: int


def new_installation(wanted: Wanted) -> New:
    """Make the folder with all in it. Raises ``Trouble``, and then nothing of it is left."""
    _refuse_bad(wanted)
    account = account_of(wanted.user)
    if os.geteuid() not in (0, account.pw_uid):
        raise Trouble(f"Only root can make an installation of {account.pw_name}'s.")
    port = wanted.port or _free_port(wanted.root)
    folder = wanted.root.absolute() / wanted.name
    _make_folder(folder)
    try:
        _fill(folder, wanted, port, account.pw_name)
        if os.geteuid() == 0:
            _hand_over(folder, account)
    except OSError as error:
        shutil.rmtree(folder, ignore_errors=True)
        raise Trouble(f"{folder} can't be made: {error.strerror or error}.") from error
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return New(folder, folder / ENV_FILE, folder / "units", port)


def _refuse_bad(wanted: Wanted) -> None:
    refuse_bad_name(wanted.name)
    if not HOST.fullmatch(wanted.host):
        raise Trouble(f"“{wanted.host}” is no host name, such as ready.example.com.")
    addresses = (
        ("mail server", wanted.email_url),
        ("database", wanted.database_url),
        ("owner's database", wanted.owner_database_url),
    )
    for what, value in addresses:
        if not PLAIN_VALUE.fullmatch(value):
            raise Trouble(f"The {what}'s address has signs that must be percent-encoded in it.")
    if wanted.port is not None and not 1024 <= wanted.port <= 65_535:
        raise Trouble(f"Port {wanted.port} can't be used: take one from 1024 to 65535.")


def _make_folder(folder: Path) -> None:
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        folder.mkdir(mode=0o750)
    except FileExistsError as error:
        left = "" if (folder / ENV_FILE).exists() else " It may be what a cut-off try left."
        raise Trouble(f"{folder} is there already: nothing was changed.{left}") from error
    except OSError as error:
        raise Trouble(f"{folder} can't be made: {error.strerror or error}.") from error


def _free_port(root: Path) -> int:
    """The first port that no neighbour has and nobody listens on."""
    taken = {_port_of(path) for path in root.glob(f"*/{ENV_FILE}")}
    for port in range(FIRST_PORT, LAST_PORT + 1):
        if port not in taken and _is_free(port):
            return port
    raise Trouble(f"No port from {FIRST_PORT} to {LAST_PORT} is free: name one with --port.")


def _port_of(env_file: Path) -> int | None:
    found = re.search(r"^READINESS_PORT=(\d+)$", env_file.read_text(), re.MULTILINE)
    return int(found[1]) if found else None


def _is_free(port: int) -> bool:
    with socket.socket() as probe:
        try:
            probe.bind(("127.0.0.1", port))
        except OSError:
            return False
    return True


def _fill(folder: Path, wanted: Wanted, port: int, user: str) -> None:
    for name in ("data", "backups", "units"):
        (folder / name).mkdir(mode=0o700 if name == "backups" else 0o750)
    disk.write_whole(folder / "secret_key", [secrets.token_urlsafe(64).encode()])
    values = _variables(folder, wanted, port)
    owner = wanted.owner_database_url
    _manage(values | ({"DATABASE_URL": owner} if owner else {}), "migrate", "--verbosity=0")
    options = [f"--name=portal-{wanted.name}", f"--out={folder / 'units'}", f"--user={user}"]
    options += [f"--env-file={folder / ENV_FILE}", f"--backups={folder / 'backups'}"]
    _manage(values, "service_files", *options, f"--port={port}", "--processes=1")
    lines = [f"{name}={value}\n".encode() for name, value in values.items()]
    disk.write_whole(folder / ENV_FILE, lines)  # last: with it the folder is an installation


def _variables(folder: Path, wanted: Wanted, port: int) -> dict[str, str]:
    values = {
        "SECRET_KEY_FILE": str(folder / "secret_key"),
        "ALLOWED_HOSTS": wanted.host,
        "EMAIL_URL": wanted.email_url,
        "READINESS_DATA": str(folder / "data"),
        "READINESS_PROXY_COUNT": "1",
        "READINESS_X_ACCEL_PREFIX": "/kept-photos/",
        "READINESS_PORT": str(port),
    }
    return values | ({"DATABASE_URL": wanted.database_url} if wanted.database_url else {})


def _manage(values: dict[str, str], *arguments: str) -> None:
    """Run a command of the new installation, with its variables and none of ours."""
    environment = {name: value for name, value in os.environ.items() if not OURS.match(name)}
    environment |= values | {"EMAIL_URL": values["EMAIL_URL"] or NO_MAIL_YET}
    command = [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), *arguments]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        last = (done.stderr.strip() or done.stdout.strip()).splitlines()[-1:]
        raise Trouble(f"manage.py {arguments[0]} failed: {' '.join(last)}")


def _hand_over(folder: Path, account) -> None:
    for path in (folder, *folder.rglob("*")):
        os.chown(path, account.pw_uid, account.pw_gid, follow_symlinks=False)
