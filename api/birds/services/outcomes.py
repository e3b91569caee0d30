"""How a bird left care; told again it is corrected, taken back the bird is in care."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from api.birds.models import Bird
from api.birds.rules.lifetime import refuse_before_intake, refuse_future, refuse_records_outside
from api.birds.rules.records import refuse_odd_release
from api.birds.rules.words import CauseCertainty
from api.birds.services.holding import by, lifetime, span_of_records
from api.birds.services.records import about
from api.networks.rules.roles import Caller
from api.outbox.services import changed, record_change, unit_of_work
from api.tenancy.models import plain
from api.web import clock


def outcome_record(
    bird: Bird,
    *,
    caller: Caller,
    kind: str,
    at: datetime,
    causes: Sequence[str] = (),
    cause_certainty: str = CauseCertainty.UNKNOWN,
    release: Mapping[str, Any] | None = None,
    note: str = "",
) -> None:
    """Record how and when a bird, whose row the caller holds locked, left care.

    Parameters
    ----------
    causes
        Of a death or loss, in the words of who looked.
    release
        ``method``, ``mass_g``, ``ring``, ``place``, of a bird that was set free.

    Raises
    ------
    DomainError
        ``in_the_future``, ``before_intake``, ``records_after`` or ``not_released``.
    """
    refuse_odd_release(kind, released=release is not None)
    refuse_future(at, what="The outcome", field="/at", now=clock.now())
    refuse_before_intake(at, bird=lifetime(bird))
    told = plain({"causes": list(causes), "cause_certainty": cause_certainty, "release": release, "note": note})
    with unit_of_work(by(caller)):
        if record_change(bird, outcome_kind=kind, outcome_at=at, outcome_told=told):
            _, last_at = span_of_records(bird)
            refuse_records_outside(lifetime(bird), first_at=None, last_at=last_at, field="/at")
            changed(bird, event="bird.outcome_recorded", site_id=bird.site.uid, data={**about(bird), "kind": kind})


def outcome_withdraw(bird: Bird, *, caller: Caller) -> None:
    """Take back the outcome of a bird that has not left care, whose row the caller holds locked."""
    with unit_of_work(by(caller)):
        if record_change(bird, outcome_kind=None, outcome_at=None, outcome_told=None):
            changed(bird, event="bird.outcome_withdrawn", site_id=bird.site.uid, data=about(bird))
