"""The wsgi entry point; without DJANGO_SETTINGS_MODULE it serves the embedded default."""

from django.core.wsgi import get_wsgi_application

from api.config import env
from api.web.bodies import WholeBodies

env.complete()

application = WholeBodies(get_wsgi_application())
