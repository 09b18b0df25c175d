"""Where notices ("Saved.") wait for the next page: a cookie of this host, else the session."""

from django.conf import settings
from django.contrib.messages.storage.cookie import CookieStorage
from django.contrib.messages.storage.fallback import FallbackStorage
from django.contrib.messages.storage.session import SessionStorage


class _NoticeCookie(CookieStorage):
    cookie_name = f"{settings.COOKIE_PREFIX}messages"


class NoticeStorage(FallbackStorage):
    """Django's, with a name that no other host of the domain can plant a cookie under."""

    storage_classes = (_NoticeCookie, SessionStorage)
