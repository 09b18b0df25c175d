import pytest

from tests.messages.smtp_server import MailServer


@pytest.fixture
def mail_server(settings):
    """A real mail server, which the portal sends through."""
    server = MailServer()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = "127.0.0.1", server.port, 2
    settings.EMAIL_USE_TLS = settings.EMAIL_USE_SSL = False
    settings.EMAIL_HOST_USER = settings.EMAIL_HOST_PASSWORD = ""
    yield server
    server.close()
