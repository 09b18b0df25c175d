"""What went wrong with an e-mail, by the mail server's answer; `wording.emails` says it."""

import smtplib
import socket
import ssl

from readiness.wording.emails import Trouble

SIGN_IN_CODES = (530, 534, 535, 538)
"""The portal itself is not let in (RFC 4954, section 6): the settings are at fault."""

_TROUBLES: tuple[tuple[type[OSError], Trouble], ...] = (
    (smtplib.SMTPConnectError, Trouble.SILENT),
    (smtplib.SMTPServerDisconnected, Trouble.SILENT),
    (smtplib.SMTPRecipientsRefused, Trouble.ADDRESS),
    (smtplib.SMTPSenderRefused, Trouble.SENDER),
    (smtplib.SMTPAuthenticationError, Trouble.SETTING),
    (smtplib.SMTPNotSupportedError, Trouble.SETTING),
    (smtplib.SMTPException, Trouble.REFUSED),
    (ssl.SSLError, Trouble.SETTING),
    (socket.gaierror, Trouble.SETTING),
)


def trouble_of(error: OSError) -> Trouble:
    """What is wrong, and so who can mend it.

    The server's own words are for the log: they name hosts and codes. A reply code of 4xx means
    "try again later" whatever was asked (RFC 5321, 4.2.1).
    """
    codes = reply_codes(error)
    if codes and all(400 <= code < 500 for code in codes):
        return Trouble.BUSY
    return next((found for kind, found in _TROUBLES if isinstance(error, kind)), Trouble.SILENT)


def is_refusal(error: OSError) -> bool:
    """Whether the server will never take this e-mail: "should not repeat" (RFC 5321, 4.2.1, 5yz).

    Not when it does not let the portal in: that is mended in the settings, and then this goes.
    """
    about_this_email = (
        smtplib.SMTPRecipientsRefused,
        smtplib.SMTPSenderRefused,
        smtplib.SMTPDataError,
    )
    codes = reply_codes(error)
    about_signing_in = isinstance(error, smtplib.SMTPSenderRefused) and codes[0] in SIGN_IN_CODES
    final = bool(codes) and all(code >= 500 for code in codes)
    return isinstance(error, about_this_email) and final and not about_signing_in


def reply_codes(error: OSError) -> list[int]:
    """What the server answered; empty when it did not."""
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return [code for code, _words in error.recipients.values()]
    return [error.smtp_code] if isinstance(error, smtplib.SMTPResponseException) else []
