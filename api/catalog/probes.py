"""Whether species are loaded."""

from django.db import DatabaseError

from api.web.probes import ProbeFailedError
from species import selectors


def packs() -> str:
    try:
        count, _ = selectors.profile_list(limit=0)
    except DatabaseError as error:
        raise ProbeFailedError("The species cannot be read; run manage.py migrate.") from error
    if not count:
        raise ProbeFailedError("No species are loaded; run manage.py packs_load.")
    return f"{count} species"
