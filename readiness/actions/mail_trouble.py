"""Why an e-mail did not go, in words for the person who waits for it."""

import smtplib
import socket
import ssl

SILENT = "the mail server does not answer."
BUSY = "the mail server is busy and asks to try later."
ADDRESS = "the mail server does not take this address. Check it."
SENDER = (
    "the mail server does not take e-mails from this portal's address. Whoever runs the portal "
    "has to check DEFAULT_FROM_EMAIL."
)
SETTING = (
    "the portal can't sign in to its mail server. Whoever runs the portal has to check EMAIL_URL."
)
REFUSED = "the mail server would not take it. Why is in the portal's log."

_WORDS: tuple[tuple[type[OSError], str], ...] = (
    (smtplib.SMTPConnectError, SILENT),
    (smtplib.SMTPServerDisconnected, SILENT),
    (smtplib.SMTPRecipientsRefused, ADDRESS),
    (smtplib.SMTPSenderRefused, SENDER),
    (smtplib.SMTPAuthenticationError, SETTING),
    (smtplib.SMTPNotSupportedError, SETTING),
    (smtplib.SMTPException, REFUSED),
    (ssl.SSLError, SETTING),
    (socket.gaierror, SETTING),
)


def in_words(error: OSError) -> str:
    """A sentence without its first capital: what is wrong, and who can mend it.

    The server's own words are for the log: they name hosts and codes. A reply code of 4xx means
    "try again later" whatever was asked (RFC 5321, 4.2.1).
    """
    codes = _reply_codes(error)
    if codes and all(400 <= code < 500 for code in codes):
        return BUSY
    return next((words for kind, words in _WORDS if isinstance(error, kind)), SILENT)


def _reply_codes(error: OSError) -> list[int]:
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return [code for code, _words in error.recipients.values()]
    return [error.smtp_code] if isinstance(error, smtplib.SMTPResponseException) else []
