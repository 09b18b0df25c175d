"""What administrators are e-mailed when a page breaks: where and how, and nothing of anybody.

Django's own e-mail holds the whole request: cookies, the form's token, queries, what was typed, and
the values of variables. An e-mail lies on other machines for years.
"""

from __future__ import annotations

import logging
import traceback

from django.core.mail import get_connection, mail_admins

from portal.requests.told_path import told_path

LONGEST_SUBJECT = 200


class ErrorMail(logging.Handler):
    """The page, the account by its id, and the traceback without values of variables."""

    def emit(self, record: logging.LogRecord) -> None:
        request = getattr(record, "request", None)
        error = record.exc_info[1] if record.exc_info else None
        place = told_path(request) if request is not None else ""
        subject = " ".join(
            filter(None, (record.levelname, type(error).__name__ if error else record.name, place))
        )
        lines = [f"{record.levelname} in {record.name}"]
        if request is not None:
            lines += [
                f"Page: {request.method} {place or '(unknown)'}",
                f"Account: {_account(request)}",
            ]
        if error is None:
            lines.append("" if request is not None else record.getMessage())
        else:
            lines += ["", *traceback.format_exception(error)]
        connection = get_connection(fail_silently=True)
        mail_admins(subject[:LONGEST_SUBJECT], "\n".join(lines), connection=connection)


def _account(request) -> str:
    """Only if it was read before: whatever broke may break again."""
    user = getattr(request, "_cached_user", None)
    return str(user.pk) if user is not None and user.pk else "not known"
