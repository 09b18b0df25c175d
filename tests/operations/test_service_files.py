"""Units and proxy configuration for this machine, read by systemd and nginx themselves."""

import os
import pwd
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from readiness.operations import Trouble, service_files
from tests.operations.machine import PROJECT, Machine
from tests.operations.test_many_machines import block

USER = "daemon" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name


@pytest.fixture
def units(tmp_path):
    """The folder of the files that the command wrote."""
    machine = Machine(tmp_path / "installation")
    out, back_ups, env = tmp_path / "units", tmp_path / "back-ups", tmp_path / "portal.env"
    back_ups.mkdir()
    env.touch()
    options = ["--user", USER, "--backups", str(back_ups), "--env-file", str(env)]
    said = machine.manage("service_files", "--out", str(out), *options)
    assert sorted(said.split()) == sorted(map(str, out.iterdir()))
    return out


def test_systemd_finds_nothing_wrong_with_the_units(units):
    names = [str(path) for path in units.iterdir() if path.suffix in (".service", ".timer")]
    assert len(names) == 4
    done = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", *names], capture_output=True, text=True
    )
    ours = [line for line in done.stderr.splitlines() if "portal-" in line]
    assert (done.returncode, ours) == (0, []), done.stderr


def test_systemd_would_find_what_is_wrong(units):
    web = units / "portal-web.service"
    web.write_text(web.read_text().replace("ExecStart=/", "ExecStart=/no/such/"))
    done = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", str(web)], capture_output=True, text=True
    )
    assert done.returncode != 0


def test_the_units_are_hardened(units):
    """`systemd-analyze security` rates from 0 (safe) to 10; a service without any care has 9.6."""
    for unit in ("web", "worker", "backup"):
        done = subprocess.run(
            ["systemd-analyze", "security", "--offline=yes", "--threshold=35", "--no-pager",
             str(units / f"portal-{unit}.service")],
            capture_output=True, text=True,
        )  # fmt: skip
        assert done.returncode == 0, done.stdout[-400:] + done.stderr


def test_what_the_units_start_is_this_machine(units, tmp_path):
    web = (units / "portal-web.service").read_text()
    assert f"ExecStart={sys.executable} -m gunicorn portal.wsgi --bind 127.0.0.1:8000 " in web
    assert f"WorkingDirectory={PROJECT}\n" in web
    assert f"EnvironmentFile={tmp_path}/portal.env\n" in web
    assert f"ReadWritePaths={tmp_path}/installation\n" in web
    assert f"User={USER}\n" in web
    worker = (units / "portal-worker.service").read_text()
    assert f"ExecStart={sys.executable} manage.py worker\n" in worker
    backup = (units / "portal-backup.service").read_text()
    assert f"manage.py backup {tmp_path}/back-ups --keep 30\n" in backup
    assert not re.search("@[A-Z]", web + worker + backup)


def test_nginx_finds_nothing_wrong_with_its_site(units, tmp_path):
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
         "-nodes", "-days", "2", "-subj", "/CN=portal.example",
         "-keyout", str(tmp_path / "key.pem"), "-out", str(tmp_path / "chain.pem")],
        check=True, capture_output=True,
    )  # fmt: skip
    site = (units / "portal-nginx.conf").read_text()
    site = site.replace("/etc/ssl/portal/fullchain.pem", f"{tmp_path}/chain.pem")
    site = site.replace("/etc/ssl/portal/privkey.pem", f"{tmp_path}/key.pem")
    config = tmp_path / "nginx.conf"
    config.write_text(
        f"pid {tmp_path}/nginx.pid;\nevents {{}}\nhttp {{\naccess_log off;\n{site}\n}}\n"
    )
    done = subprocess.run(
        ["nginx", "-t", "-c", str(config), "-e", "stderr"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert "warn" not in done.stderr


def readme_place(**changes):
    values = {
        "name": "readiness", "user": "portal", "group": "portal", "project": "/srv/portal/app",
        "python": "/srv/portal/app/.venv/bin/python", "env_file": "/etc/readiness.env",
        "data": "/srv/portal/data", "backups": "/var/backups/readiness",
        "host": "ready.example.com", "port": 8000, "workers": 3,
    }  # fmt: skip
    return service_files.Place(**(values | changes))


def test_the_readme_shows_the_configuration_that_the_command_writes():
    assert service_files.nginx_site(readme_place()).strip() == block("nginx configuration").strip()


def test_photos_in_a_bucket_are_not_for_nginx_to_send():
    text = service_files.nginx_site(readme_place(photos_here=False))
    assert "kept-photos" not in text
    assert text.count("{") == text.count("}") == 2


@pytest.mark.parametrize("name", ["", "A", "a b", "../a", "a/b", "-a", "a-", "a--b", "a" * 41, "ä"])
def test_a_name_that_can_not_be_one_of_a_unit_is_refused(name):
    with pytest.raises(CommandError, match="is no name for an installation"):
        call_command("service_files", f"--name={name}", "--user", USER)


def test_nothing_runs_as_root_or_as_nobody_known():
    with pytest.raises(CommandError, match="does not run as root"):
        call_command("service_files", "--user", "root")
    with pytest.raises(CommandError, match="adduser --system --group no-such"):
        call_command("service_files", "--user", "no-such")


@pytest.mark.parametrize("path", ["/srv/my portal", "/srv/100%", "/srv/a\nb", "/srv/a;b"])
def test_a_path_that_would_need_escapes_is_refused_in_words(path):
    with pytest.raises(Trouble, match="can't stand in a unit"):
        service_files._path(Path(path))
