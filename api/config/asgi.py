"""The asgi entry point; without DJANGO_SETTINGS_MODULE it serves the embedded default."""

from django.core.asgi import get_asgi_application

from api.config import env

env.complete()

application = get_asgi_application()
