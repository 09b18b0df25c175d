from django.apps import AppConfig, apps
from django.core.management import call_command
from django.db.models.signals import post_migrate


def create_cache_table(using, **kwargs):
    """Make the shared cache's table too: rate limits hold across workers from the start."""
    call_command("createcachetable", database=using, verbosity=0)


class PortalConfig(AppConfig):
    name = "portal"

    def ready(self):
        from portal import checks, database_checks, door_checks  # noqa: F401  registers them
        from portal.accounts import security_events  # noqa: F401  listens

        # The signal is sent only for apps that have models.
        post_migrate.connect(create_cache_table, sender=apps.get_app_config("readiness"))
