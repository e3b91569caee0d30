"""Celery's wiring: settings from Django (``CELERY_*``), tasks from the rooms."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.config.settings.base")

app = Celery("handrear")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
