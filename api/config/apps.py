"""Wiring of the service as a whole."""

from django.apps import AppConfig
from django.conf import settings


class ConfigConfig(AppConfig):
    name = "api.config"
    label = "config"
    verbose_name = "Wiring"

    def ready(self) -> None:
        # Imported here, so that tasks find this app and not Celery's default one.
        from api.config.broker import answers
        from api.config.celery_app import app
        from api.web import probes

        app.set_default()
        if settings.REDIS_URL:
            probes.register_probe("broker", answers)
