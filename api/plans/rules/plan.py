"""The shape of a feeding plan. Null where a thing does not apply, never missing; lists empty, never null."""

from datetime import date, datetime
from enum import StrEnum

from api.web.rules.cautions import Caution
from api.web.rules.ledger import BasisEntry
from species.domain.record import Record
from species.domain.vocabulary import Portion


class Decision(StrEnum):
    """What to do next, in order of precedence: the first that applies wins."""

    SEE_VET = "see_vet"
    IDENTIFY_FIRST = "identify_first"
    WARM_FIRST = "warm_first"
    COOL_FIRST = "cool_first"
    REST_FIRST = "rest_first"
    FLUIDS_FIRST = "fluids_first"
    WAIT_FOR_YOLK = "wait_for_yolk"
    WAIT_FOR_CROP = "wait_for_crop"
    RETURN_TO_PARENTS = "return_to_parents"
    SELF_FEEDING = "self_feeding"
    WEIGH_FIRST = "weigh_first"
    TOP_UP = "top_up"
    FEED = "feed"


#: Decisions that come with a feed and a formula; all others have neither.
FEEDING = frozenset({Decision.FEED, Decision.TOP_UP, Decision.WEIGH_FIRST})


class WeaningPhase(StrEnum):
    """Where a bird stands on the way to feeding itself."""

    NOT_APPLICABLE = "not_applicable"
    NOT_STARTED = "not_started"
    EXPLORING = "exploring"
    STEPPING_DOWN = "stepping_down"
    STEP_BACK = "step_back"
    WEANED = "weaned"


class Check(Record, frozen=True, kw_only=True):
    """Something to look at before the feed, and what to do if it is not as it should be."""

    code: str
    text: str
    if_not: str


class FirstStep(Record, frozen=True, kw_only=True):
    """Something to do before any food."""

    code: str
    text: str
    fluid: str | None = None
    volume_ml: float | None = None
    route: str | None = None
    skill: str = "untrained"
    repeat_after_min: int | None = None
    times: int | None = None
    stop_when: str | None = None
    look_again_after_min: int | None = None


class Vet(Record, frozen=True, kw_only=True):
    """Whether a vet is needed, how soon, and why."""

    needed: bool
    within_h: float | None = None
    reasons: tuple[str, ...] = ()


class SpeciesRead(Record, frozen=True, kw_only=True):
    """The species the plan was made for."""

    key: str | None
    scientific_name: str
    vernacular_name: str | None
    evidence: str


class Age(Record, frozen=True, kw_only=True):
    """Age and how it is known."""

    days: float
    basis: str
    low_days: float
    high_days: float


class Mass(Record, frozen=True, kw_only=True):
    """Mass used, beside what the species' curve expects at this age (3rd to 97th centile)."""

    value_g: float | None
    basis: str
    expected_g: float | None
    low_g: float | None
    high_g: float | None
    centile: float | None


class StageRead(Record, frozen=True, kw_only=True):
    """Stage of the species profile."""

    key: str
    name: str


class Energy(Record, frozen=True, kw_only=True):
    """Need from the growth curve with its 90 % interval, beside the clinical band; never averaged."""

    need_kj_per_day: float | None
    low_kj_per_day: float | None
    high_kj_per_day: float | None
    clinical_low_kj_per_day: float | None
    clinical_high_kj_per_day: float | None
    planned_kj_per_day: float | None


class Item(Record, frozen=True, kw_only=True):
    """A food of a solid portion."""

    food: str
    count: int | None
    mass_g: float | None
    max_piece_mm: float | None
    preparation: tuple[str, ...] = ()


class SupplementRead(Record, frozen=True, kw_only=True):
    """What to add, and per what."""

    substance: str
    amount_mg: float | None
    fraction_of_food: float | None
    per: str


class MethodRead(Record, frozen=True, kw_only=True):
    """A way to give it."""

    method: str
    skill: str
    tip: str | None
    gauge: str | None
    tube_mm: str | None


class Feed(Record, frozen=True, kw_only=True):
    """One feed, and how many."""

    portion: Portion
    provisional: bool
    volume_ml: float | None
    low_ml: float | None
    high_ml: float | None
    mass_g: float | None
    low_g: float | None
    high_g: float | None
    percent_of_mass: float | None
    feeds_per_day: int
    interval_min: int
    interval_low_min: int
    interval_high_min: int
    night_feeds: int
    max_wait_min: int
    daily_ml: float | None
    daily_g: float | None
    stop_when: str
    methods: tuple[str, ...]
    method_details: tuple[MethodRead, ...]
    syringe_ml: float | None
    items: tuple[Item, ...]
    supplements: tuple[SupplementRead, ...]
    casting: str | None


class FormulaRead(Record, frozen=True, kw_only=True):
    """How thick, and what goes into one feed."""

    dry_matter_fraction: float
    low_fraction: float
    high_fraction: float
    energy_kj_per_ml: float
    powder_g_per_feed: float
    water_ml_per_feed: float
    consistency: str


class Temperature(Record, frozen=True, kw_only=True):
    """How warm, measured where it leaves the syringe."""

    target_c: float | None
    low_c: float | None
    high_c: float | None
    never_above_c: float | None


class Brooder(Record, frozen=True, kw_only=True):
    """How warm the brooder."""

    target_c: float | None
    low_c: float | None
    high_c: float | None
    humidity_low_fraction: float | None
    humidity_high_fraction: float | None
    advice: tuple[str, ...] = ()


class ExpectedGain(Record, frozen=True, kw_only=True):
    """Gain until tomorrow, with its 90 % interval."""

    next_day_g: float | None
    low_g: float | None
    high_g: float | None


class Criterion(Record, frozen=True, kw_only=True):
    """A criterion of weaning or release; ``met`` null where nothing told says so."""

    code: str
    text: str
    met: bool | None = None


class WeaningRead(Record, frozen=True, kw_only=True):
    """Where the bird stands on the way to feeding itself."""

    phase: WeaningPhase
    earliest_day: float | None
    usual_day: float | None
    drop_feed: str | None
    criteria: tuple[Criterion, ...] = ()


class ReleaseRead(Record, frozen=True, kw_only=True):
    """What it must show before it goes."""

    criteria: tuple[Criterion, ...] = ()


class FeedingPlan(Record, frozen=True, kw_only=True):
    """A plan for one bird and one day, with the reasons for every number."""

    decision: Decision
    look_again_at: datetime | None
    vet: Vet
    species: SpeciesRead
    on: date
    time_zone: str
    age: Age
    mass: Mass
    stage: StageRead | None
    energy: Energy
    feed: Feed | None
    formula: FormulaRead | None
    temperature: Temperature | None
    brooder: Brooder | None
    timetable: tuple[str, ...]
    expected_gain: ExpectedGain
    weaning: WeaningRead
    release: ReleaseRead
    checks: tuple[Check, ...]
    first_steps: tuple[FirstStep, ...]
    cautions: tuple[Caution, ...]
    basis: tuple[BasisEntry, ...]
