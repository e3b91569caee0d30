"""The asgi entry point; without DJANGO_SETTINGS_MODULE it serves the embedded default."""

import os

from django.core.asgi import get_asgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.config.settings.base")

application = get_asgi_application()
