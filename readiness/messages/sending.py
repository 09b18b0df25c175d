"""Handing one e-mail to the mail server, and what became of it."""

import logging
import smtplib
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from django.core.mail import EmailMultiAlternatives, get_connection

from readiness.messages import mail_trouble
from readiness.wording import emails

log = logging.getLogger(__name__)


class Outcome(Enum):
    """What is known after a try."""

    SENT = "sent"  # the server took it
    NOT_NOW = "not_now"  # it did not leave, and may later
    REFUSED = "refused"  # it did not leave, and will not
    UNSURE = "unsure"  # it was handed over, and no answer came


@dataclass(frozen=True)
class Try:
    """How one try went; `error` says why in words, empty when it went."""

    outcome: Outcome
    error: str = ""


def hand_over(email: EmailMultiAlternatives, before_text: Callable[[], None]) -> Try:
    """Send one e-mail now. Slow: call it with nothing locked.

    `before_text` is called when all is ready and the text is about to go; what it raises stops the
    e-mail from going. What goes wrong before is known not to have left. Once the server has the
    text, only its answer tells (RFC 5321, 4.2.5: it takes over with its reply to the end of data).
    """
    connection = get_connection()
    handed_over = False

    def mark() -> None:
        nonlocal handed_over
        before_text()
        handed_over = True

    try:
        connection.open()
        if not _mark_when_text_goes(connection, mark):
            mark()
        connection.send_messages([email])
    except OSError as error:  # smtplib's errors are of this kind too
        if mail_trouble.is_refusal(error):
            return _failed(error, Outcome.REFUSED)
        unsure = handed_over and not mail_trouble.reply_codes(error)
        return _failed(error, Outcome.UNSURE if unsure else Outcome.NOT_NOW)
    finally:
        _close(connection)
    return Try(Outcome.SENT)


def _mark_when_text_goes(connection, mark: Callable[[], None]) -> bool:
    """Have `mark` called when an SMTP server waits for the text; False for other ways to send."""
    smtp = getattr(connection, "connection", None)
    if not isinstance(smtp, smtplib.SMTP):
        return False
    send = smtp.send

    def marked(text):
        # Commands are str; the text of the e-mail alone comes as bytes (smtplib.SMTP.data).
        if isinstance(text, bytes):
            mark()
        send(text)

    smtp.send = marked  # type: ignore[method-assign]
    return True


def _close(connection) -> None:
    """Say goodbye; how the server answers that does not change what it took."""
    try:
        connection.close()
    except OSError as error:
        log.info("The mail server did not close well: %s", error)


def _failed(error: OSError, outcome: Outcome) -> Try:
    log.warning("An e-mail was not sent (%s): %s", outcome.value, error)
    return Try(outcome, emails.trouble(mail_trouble.trouble_of(error)))
