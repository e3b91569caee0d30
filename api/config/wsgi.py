"""The wsgi entry point; without DJANGO_SETTINGS_MODULE it serves the embedded default."""

import os

from django.core.wsgi import get_wsgi_application

from api.web.bodies import WholeBodies

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.config.settings.base")

application = WholeBodies(get_wsgi_application())
