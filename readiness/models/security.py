"""The security log: who signed in as whom and from where, what was refused, who changed rights.

Apart from the sites' Records, which prove what was done on a site: this one is for the owner who
asks how somebody got in. It holds accounts by id, no secret and no text of an e-mail. Rows are only
added; they go when they are older than the owner keeps them.
"""

from enum import StrEnum

from django.db import models


class SecurityKind(StrEnum):
    """What happened. Stored: none ever changes; `readiness.wording.security` says them."""

    SIGNED_IN = "signed_in"
    SIGNED_OUT = "signed_out"
    SIGN_IN_FAILED = "sign_in_failed"
    PROVED_AGAIN = "proved_again"
    CODE_SENT = "code_sent"
    CODE_NOT_SENT = "code_not_sent"
    STRANGER_ASKED = "stranger_asked"
    LINK_SENT = "link_sent"
    PASSWORD_CHANGED = "password_changed"  # noqa: S105  a code, no password
    FACTOR_ADDED = "factor_added"
    FACTOR_REMOVED = "factor_removed"
    CODES_RENEWED = "codes_renewed"
    FACTORS_RESET = "factors_reset"
    REFUSED = "refused"
    TOO_MANY = "too_many"
    INVITED = "invited"
    INVITATION_CANCELLED = "invitation_cancelled"
    INVITATION_ACCEPTED = "invitation_accepted"
    RIGHTS_CHANGED = "rights_changed"
    SWITCHED_ON = "switched_on"
    SWITCHED_OFF = "switched_off"
    MADE_OWNER = "made_owner"
    NO_LONGER_OWNER = "no_longer_owner"
    LICENCE_SET = "licence_set"
    SESSIONS_ENDED = "sessions_ended"
    PERSON_REMOVED = "person_removed"
    SETTINGS_CHANGED = "settings_changed"
    RULES_CHANGED = "rules_changed"
    DAYS_OFF_CHANGED = "days_off_changed"
    EXPORTED = "exported"
    IMPORTED = "imported"


class SecurityEvent(models.Model):
    """One thing that happened at the doors."""

    at = models.DateTimeField(db_index=True)
    kind = models.CharField(max_length=24)
    # Ids alone: a row is never changed, also not when an account goes.
    account = models.UUIDField(null=True, blank=True, help_text="Who did it, where that is known.")
    about = models.UUIDField(null=True, blank=True, help_text="The account that it was done to.")
    email = models.CharField(
        max_length=254, blank=True, help_text="What was typed, where no account has it."
    )
    address = models.GenericIPAddressField(null=True, blank=True)
    device = models.CharField(max_length=60, blank=True)
    details = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [
            models.Index(fields=["account", "at"], name="security_by_account"),
            models.Index(fields=["about", "at"], name="security_by_about"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at {self.at}"
