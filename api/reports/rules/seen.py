"""What a report is composed from: birds and alerts as they stood when it was composed."""

from datetime import date, datetime
from uuid import UUID

from api.plans.rules.plan import Decision, WeaningPhase
from api.web.rules.cautions import Severity
from species.domain.record import Record


class QuestionedWeight(Record, frozen=True, kw_only=True):
    """A weight that does not fit its bird and that nobody has confirmed or rejected yet."""

    at: datetime
    mass_g: float


class BirdSeen(Record, frozen=True, kw_only=True):
    """A bird in care, its last weighings and today's plan.

    Without a plan ``decision`` is null and ``no_plan_because`` says why. ``last_weighed_at`` is the last weighing
    that is held to be true, accepted or confirmed. ``portion`` says one feed in words.
    """

    id: UUID
    name: str
    species: str
    site: str
    in_care_since: datetime
    stage: str | None = None
    decision: Decision | None = None
    no_plan_because: str = ""
    vet_needed: bool = False
    vet_within_h: float | None = None
    vet_reasons: tuple[str, ...] = ()
    weaning: WeaningPhase | None = None
    last_weighed_at: datetime | None = None
    questioned: tuple[QuestionedWeight, ...] = ()
    timetable: tuple[datetime, ...] = ()
    portion: str = ""


class AlertSeen(Record, frozen=True, kw_only=True):
    """An open alert, of a bird or, without one, of a whole site."""

    id: UUID
    bird_id: UUID | None
    bird: str | None
    species: str | None
    site: str
    code: str
    severity: Severity
    opened_at: datetime
    since: datetime
    text: str
    actions: tuple[str, ...] = ()
    act_within_h: float | None = None
    snoozed_until: datetime | None = None
    acknowledged_at: datetime | None = None
    acknowledged_by: str | None = None


class WeightsDrawn(Record, frozen=True, kw_only=True):
    """A bird's growth chart, in the figures that matter: its last weighings and what is usual at its age now."""

    bird_id: UUID
    weighings: tuple[tuple[datetime, float], ...]
    expected_g: float
    low_g: float
    high_g: float


class Occasion(Record, frozen=True, kw_only=True):
    """Whose report it is, of which day, and what it covers: from the last report's time to this one's."""

    network: str
    on: date
    time_zone: str
    period_start: datetime
    period_end: datetime
    composed_at: datetime
