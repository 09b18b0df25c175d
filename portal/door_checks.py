"""System checks of what stands open: host names, e-mail on its way, proxies in front."""

import os
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import Error, Tags, Warning, register
from django.db import connection

from portal.loopback import is_loopback
from readiness.models import LastDone
from readiness.operations.upkeep import is_proxy_unset


@register("doors", deploy=True)
def check_hosts(app_configs, **kwargs):
    """Links in e-mails and papers have one name, and requests under other names are refused."""
    errors = []
    if "*" in settings.ALLOWED_HOSTS:
        errors.append(
            Error(
                "ALLOWED_HOSTS is *: the portal answers to any name that a stranger gives it.",
                hint="Name the portal's hosts, such as ALLOWED_HOSTS=ready.example.com",
                id="portal.E011",
            )
        )
    host = urlsplit(settings.SITE_URL).hostname or ""
    if not host or host.startswith((".", "*")):
        errors.append(
            Error(
                f"Links in e-mails and papers would lead to {settings.SITE_URL}.",
                hint="Set READINESS_URL, such as https://ready.example.com",
                id="portal.E012",
            )
        )
    return errors


@register("doors", deploy=True)
def check_mail_is_encrypted(app_configs, **kwargs):
    """Sign-in codes go by e-mail: on the way to another machine anybody could read them."""
    goes_by_smtp = settings.EMAIL_BACKEND.endswith("smtp.EmailBackend")
    is_encrypted = settings.EMAIL_USE_TLS or settings.EMAIL_USE_SSL
    if not goes_by_smtp or is_encrypted or is_loopback(settings.EMAIL_HOST):
        return []
    return [
        Warning(
            f"E-mails, sign-in codes among them, go to {settings.EMAIL_HOST} unencrypted.",
            hint="EMAIL_URL=smtp+tls://... (STARTTLS, mostly port 587) or smtp+ssl://... (465)",
            id="portal.W007",
        )
    ]


@register("doors", deploy=True)
def check_proxy_is_counted(app_configs, **kwargs):
    """The portal speaks no TLS itself, so something stands in front that has to be counted."""
    if settings.EMBEDDED or "READINESS_PROXY_COUNT" in os.environ:
        return []
    return [
        Warning(
            "READINESS_PROXY_COUNT is not set: behind a proxy everybody seems to come from one "
            "address, so that wrong passwords of one lock everybody out.",
            hint="READINESS_PROXY_COUNT=1 behind nginx or Caddy; 0 says that there is none.",
            id="portal.W008",
        )
    ]


@register(Tags.database, deploy=True)
def check_no_proxy_was_seen(app_configs, databases=None, **kwargs):
    """What a request has shown: there is a proxy, and the settings count none."""
    table = LastDone._meta.db_table
    if not databases or table not in connection.introspection.table_names():
        return []
    if not is_proxy_unset():
        return []
    return [
        Error(
            "Requests come through a proxy, and READINESS_PROXY_COUNT is 0.",
            hint="Set READINESS_PROXY_COUNT to the number of proxies in front; 1 for nginx alone.",
            id="portal.E013",
        )
    ]
