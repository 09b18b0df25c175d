from django.apps import AppConfig
from django.db.models.signals import post_migrate


class ReadinessConfig(AppConfig):
    """What the portal is about: sites, reports, items, confirmations, bookings, photos, papers."""

    name = "readiness"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from readiness.models import freeze, search

        post_migrate.connect(freeze.install, sender=self, dispatch_uid="freeze")
        post_migrate.connect(search.install, sender=self, dispatch_uid="search")
