"""How somebody signed: from which account, after what, on which device, when."""

from __future__ import annotations

from datetime import tzinfo

from django.utils.translation import gettext as _

from readiness.models import ReadinessConfirmation
from readiness.wording import dates

Method = ReadinessConfirmation.Method


def signed_how(confirmation: ReadinessConfirmation, zone: tzinfo) -> str:
    """One sentence for papers, pages and e-mails; empty of what was signed before version 2."""
    if not confirmation.proved_at:
        return ""
    text = {
        Method.CODE: _(
            "Signed by %(name)s, account %(address)s, after a code sent to %(address)s, on "
            "%(device)s, at %(signed)s. The code was entered at %(proved)s."
        ),
        Method.PASSKEY: _(
            "Signed by %(name)s, account %(address)s, after a passkey, on %(device)s, at "
            "%(signed)s. The passkey was used at %(proved)s."
        ),
        Method.APP: _(
            "Signed by %(name)s, account %(address)s, after a code of their authenticator app, on "
            "%(device)s, at %(signed)s. The code was entered at %(proved)s."
        ),
    }[Method(confirmation.proved_by)]
    return text % {
        "name": confirmation.name,
        "address": confirmation.account_address,
        "device": confirmation.device or _("an unknown device"),
        "signed": dates.moment(confirmation.confirmed_at.astimezone(zone)),
        "proved": dates.moment(confirmation.proved_at.astimezone(zone)),
    }
