"""A daily report: what a coordinator has to know this morning. Lists are whole; a page may show their beginning."""

from datetime import date, datetime
from enum import StrEnum
from uuid import UUID

from api.web.rules.cautions import Caution, Severity
from species.domain.record import Record


class Need(StrEnum):
    """Why a bird needs somebody today, in the order in which to see to it."""

    URGENT_ALERT = "urgent_alert"
    SEE_VET = "see_vet"
    NOT_FED = "not_fed"
    WEIGHT_QUESTIONED = "weight_questioned"
    ACT_TODAY = "act_today"
    NO_PLAN = "no_plan"
    NOT_WEIGHED = "not_weighed"


class Reason(Record, frozen=True, kw_only=True):
    """One reason to see to a bird, and what to do."""

    need: Need
    severity: Severity
    within_h: float
    why: str
    what_to_do: tuple[str, ...]


class NeedsYou(Record, frozen=True, kw_only=True):
    """A bird that needs somebody today; without a bird, a site. The most pressing reason stands first."""

    bird_id: UUID | None
    bird: str | None
    species: str | None
    site: str
    reasons: tuple[Reason, ...]


class Chart(Record, frozen=True, kw_only=True):
    """A growth chart: the name of its picture, and what it shows in words."""

    name: str
    text: str


class Alert(Record, frozen=True, kw_only=True):
    """An open alert. ``new``: opened since the last report. A bird's chart stands at the first of its alerts."""

    id: UUID
    bird_id: UUID | None
    bird: str | None
    species: str | None
    site: str
    code: str
    severity: Severity
    new: bool
    opened_at: datetime
    since: datetime
    text: str
    actions: tuple[str, ...]
    acknowledged_at: datetime | None
    acknowledged_by: str | None
    snoozed_until: datetime | None
    chart: Chart | None


class Count(Record, frozen=True, kw_only=True):
    """How many birds bear a name: of a species, a stage or a site. Birds without a stage are counted under null."""

    name: str | None
    birds: int


class Census(Record, frozen=True, kw_only=True):
    """Birds in care, counted three ways."""

    by_species: tuple[Count, ...]
    by_stage: tuple[Count, ...]
    by_site: tuple[Count, ...]


class MissedWeighing(Record, frozen=True, kw_only=True):
    """A growing bird that was not weighed in the local day before the report."""

    bird_id: UUID
    bird: str
    species: str
    site: str
    last_weighed_at: datetime | None


class NightPortion(Record, frozen=True, kw_only=True):
    """What one bird gets at a night feed."""

    bird_id: UUID
    bird: str
    portion: str


class NightFeed(Record, frozen=True, kw_only=True):
    """A feed tonight at a site: local time, and who gets what."""

    site: str
    at: datetime
    portions: tuple[NightPortion, ...]


class Outcome(Record, frozen=True, kw_only=True):
    """A bird whose time in care ended since the last report."""

    bird_id: UUID
    bird: str
    species: str
    site: str
    kind: str
    at: datetime
    causes: tuple[str, ...] = ()


class Totals(Record, frozen=True, kw_only=True):
    """The report in figures."""

    birds: int
    needs_you: int
    urgent: int
    alerts: int
    new_alerts: int
    missed_weighings: int
    night_feeds: int
    outcomes: int


class Report(Record, frozen=True, kw_only=True):
    """One morning's report of one network."""

    network: str
    on: date
    time_zone: str
    period_start: datetime
    period_end: datetime
    composed_at: datetime
    totals: Totals
    needs_you: tuple[NeedsYou, ...]
    alerts: tuple[Alert, ...]
    census: Census
    missed_weighings: tuple[MissedWeighing, ...]
    night_feeds: tuple[NightFeed, ...]
    outcomes: tuple[Outcome, ...]
    cautions: tuple[Caution, ...]
