"""Identifiers that sort by the time they were made."""

import secrets
import uuid

from api.web import clock


def new_id() -> uuid.UUID:
    """A UUID of version 7 (RFC 9562, section 5.7): 48 bits of milliseconds, the rest unguessable."""
    milliseconds = int(clock.now().timestamp() * 1000)
    value = (milliseconds << 80) | (0x7 << 76) | (secrets.randbits(12) << 64) | (0b10 << 62)
    return uuid.UUID(int=value | secrets.randbits(62))
