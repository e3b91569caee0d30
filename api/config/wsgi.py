"""The wsgi entry point; without DJANGO_SETTINGS_MODULE it serves the embedded default."""

import os

from django.core.wsgi import get_wsgi_application

from api.web.chunks import LengthFromChunks

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.config.settings.base")

application = LengthFromChunks(get_wsgi_application())
