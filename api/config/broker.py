"""Whether the broker answers."""

from kombu.exceptions import OperationalError

from api.config.celery_app import app
from api.web.probes import ProbeFailedError


def answers() -> str:
    try:
        with app.connection_for_write(connect_timeout=2) as connection:
            connection.ensure_connection(max_retries=1, timeout=2)
    except (OperationalError, OSError) as error:
        raise ProbeFailedError("The broker does not answer.") from error
    return "the broker answers"
