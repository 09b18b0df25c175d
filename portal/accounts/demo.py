"""One-click sign-in for the demo: signed, short-lived links that exist in no other mode."""

from datetime import timedelta

from django.core import signing
from django.urls import reverse

from readiness.models import User

SALT = "portal.accounts.demo"
GOOD_FOR = timedelta(hours=24)


def sign_in_path(user: User) -> str:
    """The path that signs a browser in as `user` while READINESS_DEMO is on, for 24 hours."""
    return reverse("accounts:demo_sign_in", args=[signing.dumps(str(user.pk), salt=SALT)])


def user_of(token: str) -> User | None:
    """The active user that a link was made for; None for a link that is wrong or too old."""
    try:
        pk = signing.loads(token, salt=SALT, max_age=GOOD_FOR)
    except signing.BadSignature:
        return None
    return User.objects.filter(pk=pk, is_active=True).first()
