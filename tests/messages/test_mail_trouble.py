"""What a person reads when the mail server would not take an e-mail."""

import smtplib
import socket
import ssl

import pytest

from readiness.messages.mail_trouble import is_refusal, trouble_of
from readiness.wording import emails
from readiness.wording.emails import Trouble

HOST_WORDS = b"5.7.1 mx17.internal.example said no"


@pytest.mark.parametrize(
    ("error", "trouble"),
    [
        (ConnectionRefusedError(111, "Connection refused"), Trouble.SILENT),
        (TimeoutError("timed out"), Trouble.SILENT),
        (OSError(101, "Network is unreachable"), Trouble.SILENT),
        (smtplib.SMTPServerDisconnected("Connection unexpectedly closed"), Trouble.SILENT),
        (smtplib.SMTPConnectError(554, HOST_WORDS), Trouble.SILENT),
        (smtplib.SMTPConnectError(421, HOST_WORDS), Trouble.BUSY),
        (socket.gaierror(-2, "Name or service not known"), Trouble.SETTING),
        (ssl.SSLCertVerificationError("self-signed certificate"), Trouble.SETTING),
        (smtplib.SMTPAuthenticationError(535, HOST_WORDS), Trouble.SETTING),
        (smtplib.SMTPNotSupportedError("STARTTLS extension not supported"), Trouble.SETTING),
        (smtplib.SMTPSenderRefused(553, HOST_WORDS, "a@b.example"), Trouble.SENDER),
        (smtplib.SMTPRecipientsRefused({"a@b.example": (550, HOST_WORDS)}), Trouble.ADDRESS),
        (smtplib.SMTPRecipientsRefused({"a@b.example": (450, HOST_WORDS)}), Trouble.BUSY),
        (smtplib.SMTPDataError(451, HOST_WORDS), Trouble.BUSY),
        (smtplib.SMTPDataError(400, HOST_WORDS), Trouble.BUSY),
        (smtplib.SMTPDataError(499, HOST_WORDS), Trouble.BUSY),
        (smtplib.SMTPDataError(399, HOST_WORDS), Trouble.REFUSED),
        (smtplib.SMTPDataError(500, HOST_WORDS), Trouble.REFUSED),
        (smtplib.SMTPDataError(554, HOST_WORDS), Trouble.REFUSED),
        (
            smtplib.SMTPRecipientsRefused(
                {"a@b.example": (450, HOST_WORDS), "c@d.example": (550, HOST_WORDS)}
            ),
            Trouble.ADDRESS,
        ),
        (smtplib.SMTPException("something else"), Trouble.REFUSED),
    ],
)
def test_every_trouble_has_words_that_name_no_host(error, trouble):
    assert trouble_of(error) == trouble
    assert "internal" not in emails.trouble(trouble)


@pytest.mark.parametrize(
    ("error", "is_final"),
    [
        (smtplib.SMTPDataError(500, HOST_WORDS), True),
        (smtplib.SMTPDataError(499, HOST_WORDS), False),
        (smtplib.SMTPSenderRefused(553, HOST_WORDS, "a@b.example"), True),
        (smtplib.SMTPSenderRefused(530, HOST_WORDS, "a@b.example"), False),  # not signed in
        (smtplib.SMTPRecipientsRefused({"a@b.example": (550, HOST_WORDS)}), True),
        (smtplib.SMTPRecipientsRefused({"a@b.example": (450, HOST_WORDS)}), False),
        (
            smtplib.SMTPRecipientsRefused(
                {"a@b.example": (450, HOST_WORDS), "c@d.example": (550, HOST_WORDS)}
            ),
            False,
        ),
        (smtplib.SMTPRecipientsRefused({}), False),
        (smtplib.SMTPDataError(530, HOST_WORDS), True),
        (smtplib.SMTPConnectError(554, HOST_WORDS), False),
        (smtplib.SMTPServerDisconnected("Connection unexpectedly closed"), False),
        (TimeoutError("timed out"), False),
    ],
)
def test_only_what_the_server_says_of_this_e_mail_is_final(error, is_final):
    assert is_refusal(error) is is_final
