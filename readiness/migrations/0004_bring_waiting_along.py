"""Gives the e-mails, papers and invitations of version 0.1 their states.

What waited for less than a week goes on by itself. An e-mail that is older does not suddenly go: it
stands as not sent, and a person decides.
"""

from datetime import datetime, timedelta, timezone

from django.db import migrations
from django.db.models import F

STILL_NEWS = timedelta(days=7)
HELD_AT_MOST = timedelta(hours=1)


def messages(apps, now):
    Message = apps.get_model("readiness", "Message")
    Message.objects.filter(sent_at__isnull=False).update(state="sent", attempts=1)
    unsent = Message.objects.filter(sent_at=None)
    unsent.exclude(error="").update(attempts=1)
    old = unsent.filter(queued_at__lt=now - STILL_NEWS)
    old.filter(error="").update(error="it waited for over a week.")
    old.update(state="given_up", given_up_at=now)
    unsent = unsent.filter(state="waiting")
    held = unsent.filter(details__wait_for_papers=True, error="")
    held.update(state="held", next_try_at=F("queued_at") + HELD_AT_MOST)
    unsent.filter(state="waiting").update(next_try_at=F("queued_at"))


def papers(apps, now):
    Paper = apps.get_model("readiness", "Paper")
    Paper.objects.filter(state="failed").update(given_up_at=now)
    # The worker of 0.1 is stopped during the upgrade: what it was making is made anew.
    Paper.objects.filter(state__in=("queued", "making")).update(
        state="queued", attempts=0, next_try_at=F("requested_at")
    )


def invitations(apps, now):
    """Whether the link went was kept on the invitation; now it is a message like any other."""
    Invitation = apps.get_model("readiness", "Invitation")
    Message = apps.get_model("readiness", "Message")
    for one in Invitation.objects.filter(accepted_at=None, revoked_at=None).iterator():
        sent = one.emailed_at is not None
        Message.objects.create(
            invitation=one,
            kind="invitation",
            about=one.pk,
            key=f"invitation/{one.pk}",
            queued_at=one.created_at,
            attempts=1,
            state="sent" if sent else "given_up",
            sent_at=one.emailed_at,
            given_up_at=None if sent else now,
            error="" if sent else one.email_error or "the mail server does not answer.",
        )


def bring_along(apps, schema_editor):
    now = datetime.now(timezone.utc)
    messages(apps, now)
    papers(apps, now)
    invitations(apps, now)


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0003_count_tries'),
    ]

    operations = [migrations.RunPython(bring_along, migrations.RunPython.noop)]
