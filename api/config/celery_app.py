"""Celery's wiring: settings from Django (``CELERY_*``), tasks from the rooms."""

from celery import Celery

from api.config import env

env.complete()

app = Celery("handrear")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
