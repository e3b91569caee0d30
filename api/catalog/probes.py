"""Whether species are loaded, and which packs are not."""

from functools import cache

from django.db import DatabaseError

from api.web.probes import ProbeFailedError
from species import builtin, selectors
from species.packs.discover import discover_packs


def packs() -> str:
    try:
        count, _ = selectors.profile_list(limit=0)
    except DatabaseError as error:
        raise ProbeFailedError("The species cannot be read; run manage.py migrate.") from error
    if not count:
        raise ProbeFailedError("No species are loaded; run manage.py packs_load.")
    broken = _broken()
    # What is loaded is answered for; one pack that is broken must not take the others away.
    return f"{count} species" + (f"; not loaded, see manage.py packs_check: {', '.join(broken)}" if broken else "")


@cache
def _broken() -> tuple[str, ...]:
    """Packs with faults, read once: what is installed stays the same while the process lives."""
    return tuple(found.origin for found in discover_packs(builtin.folder()) if found.checked.pack is None)
