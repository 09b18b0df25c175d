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

SIGN_IN_CODES = (530, 534, 535, 538)
"""The portal itself is not let in (RFC 4954, section 6): the settings are at fault."""

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
    codes = reply_codes(error)
    if codes and all(400 <= code < 500 for code in codes):
        return BUSY
    return next((words for kind, words in _WORDS if isinstance(error, kind)), SILENT)


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
