"""What the gate and the stage settled, as the portion needs it."""

from api.birds.rules.words import Alertness, BodyCondition, Crop, Droppings, Sign
from api.plans.rules.need import target_kj_per_day
from api.plans.rules.plan import Age, Energy
from api.plans.rules.request import Condition, PlanRequest
from species.domain.profile import Profile
from species.domain.record import Record
from species.domain.stage import Stage

#: Energy is no alarm while yolk feeds the chick and food is thin (practice, rule 5).
ENERGY_JUDGED_FROM_DAY = 5.0


class Situation(Record, frozen=True, kw_only=True):
    """One bird on one day, ready to be fed."""

    profile: Profile
    stage: Stage
    request: PlanRequest
    age: Age
    mass_g: float
    energy: Energy
    window_min: int
    provisional: bool
    grown: bool

    @property
    def care(self) -> str:
        """Which limits on the size of a feed hold, the strictest first."""
        if self.request.condition.body_condition is BodyCondition.EMACIATED:
            return "emaciated"
        if self.request.first_feed_in_care:
            return "first_day"
        if self.crop_is_slow:
            return "slow_crop"
        return "unweighed" if self.provisional else "routine"

    @property
    def crop_is_slow(self) -> bool:
        """Whether food goes through slowly or comes back, so that no feed may grow (practice, rule 12)."""
        seen, has_crop = self.request.condition, self.profile.has_crop.value
        return self.request.lately.food_slow or _food_is_slow(seen, has_crop=has_crop)

    @property
    def volume_is_held(self) -> bool:
        """Whether volume may not rise for the sake of energy.

        A bird that does not gain gets no larger feed either before somebody has felt its crop.
        """
        unfelt = self.profile.has_crop.value and self.request.condition.crop is Crop.UNKNOWN
        stalled = self.request.lately.no_gain is True and unfelt
        return self.care in {"emaciated", "first_day"} or self.crop_is_slow or stalled

    @property
    def energy_judged(self) -> bool:
        """Whether a shortfall of energy is acted on: not on days 0-4, nor new in care, nor while refeeding."""
        return self.age.days >= ENERGY_JUDGED_FROM_DAY and self.care in {"routine", "slow_crop", "unweighed"}

    @property
    def target_kj_per_day(self) -> float | None:
        """Energy to feed for; null where the curve tells no need."""
        need, clinical = self.energy.need_kj_per_day, self.energy.clinical_low_kj_per_day
        if need is None or clinical is None:
            return None
        return target_kj_per_day(need_kj_per_day=need, clinical_low_kj_per_day=clinical)

    @property
    def ceiling_kj_per_day(self) -> float | None:
        """Energy a day does not pass without cause: the higher of the need's interval and the clinical band."""
        ends = [e for e in (self.energy.high_kj_per_day, self.energy.clinical_high_kj_per_day) if e is not None]
        return max(ends) if ends else None


def _food_is_slow(condition: Condition, *, has_crop: bool) -> bool:
    return (
        (has_crop and condition.crop in {Crop.RESIDUE, Crop.NOT_EMPTIED, Crop.FULL, Crop.DISTENDED})
        or condition.droppings is Droppings.NONE_SINCE_FEED
        or Sign.REGURGITATION in condition.signs
        or condition.alertness in {Alertness.WEAK, Alertness.QUIET}
    )
