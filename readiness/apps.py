from django.apps import AppConfig


class ReadinessConfig(AppConfig):
    """What the portal is about: sites, reports, items, confirmations, bookings, photos, papers."""

    name = "readiness"
    default_auto_field = "django.db.models.BigAutoField"
