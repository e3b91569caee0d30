"""A feeding plan as it leaves the service: every field present, null where it does not apply, lists never null."""

from typing import Any

from rest_framework import serializers

from api.plans.rules.plan import Decision
from api.web.reasons import BasisOut, CautionOut, ComputedByOut, number, texts
from api.web.strict import StrictDateField, StrictDateTimeField
from species.domain.vocabulary import Portion


class PlanCheckOut(serializers.Serializer[Any]):
    """Something to look at before the feed, and what to do if it is not so."""

    code = serializers.CharField()
    text = serializers.CharField()
    if_not = serializers.CharField()


class FirstStepOut(serializers.Serializer[Any]):
    """Something to do before any food."""

    code = serializers.CharField()
    text = serializers.CharField()
    fluid = serializers.CharField(allow_null=True)
    volume_ml = number(null=True)
    route = serializers.CharField(allow_null=True)
    skill = serializers.CharField()
    repeat_after_min = serializers.IntegerField(allow_null=True)
    times = serializers.IntegerField(allow_null=True)
    stop_when = serializers.CharField(allow_null=True)
    look_again_after_min = serializers.IntegerField(allow_null=True)


class VetOut(serializers.Serializer[Any]):
    """Whether a vet is needed, how soon, and why."""

    needed = serializers.BooleanField()
    within_h = number(null=True)
    reasons = texts()


class PlanSpeciesOut(serializers.Serializer[Any]):
    """The species the plan was made for; no key where it has no profile."""

    key = serializers.CharField(allow_null=True)
    scientific_name = serializers.CharField()
    vernacular_name = serializers.CharField(allow_null=True)
    evidence = serializers.CharField(help_text="curated, derived or inferred")


class AgeOut(serializers.Serializer[Any]):
    """Age and how it is known."""

    days = number()
    basis = serializers.CharField()
    low_days = number()
    high_days = number()


class MassOut(serializers.Serializer[Any]):
    """Mass used, beside the 3rd to 97th centile of the species at this age."""

    value_g = number(null=True)
    basis = serializers.CharField()
    expected_g = number(null=True)
    low_g = number(null=True)
    high_g = number(null=True)
    centile = number(null=True)


class StageOut(serializers.Serializer[Any]):
    """Stage of the profile."""

    key = serializers.CharField()
    name = serializers.CharField()


class EnergyOut(serializers.Serializer[Any]):
    """Need from the growth curve with its 90 % interval, and the clinical band beside it; never averaged."""

    need_kj_per_day = number(null=True)
    low_kj_per_day = number(null=True)
    high_kj_per_day = number(null=True)
    clinical_low_kj_per_day = number(null=True)
    clinical_high_kj_per_day = number(null=True)
    planned_kj_per_day = number(null=True)


class ItemOut(serializers.Serializer[Any]):
    """A food of a solid portion."""

    food = serializers.CharField()
    count = serializers.IntegerField(allow_null=True)
    mass_g = number(null=True)
    max_piece_mm = number(null=True)
    preparation = texts()


class SupplementOut(serializers.Serializer[Any]):
    """What to add, and per what."""

    substance = serializers.CharField()
    amount_mg = number(null=True)
    fraction_of_food = number(null=True)
    per = serializers.CharField()


class MethodOut(serializers.Serializer[Any]):
    """A way to give it, and who may."""

    method = serializers.CharField()
    skill = serializers.CharField()
    tip = serializers.CharField(allow_null=True)
    gauge = serializers.CharField(allow_null=True)
    tube_mm = serializers.CharField(allow_null=True)


class FeedOut(serializers.Serializer[Any]):
    """One feed, and how many."""

    portion = serializers.ChoiceField(choices=[word.value for word in Portion])
    provisional = serializers.BooleanField()
    volume_ml = number(null=True)
    low_ml = number(null=True)
    high_ml = number(null=True)
    mass_g = number(null=True)
    low_g = number(null=True)
    high_g = number(null=True)
    percent_of_mass = number(null=True)
    feeds_per_day = serializers.IntegerField()
    interval_min = serializers.IntegerField()
    interval_low_min = serializers.IntegerField()
    interval_high_min = serializers.IntegerField()
    night_feeds = serializers.IntegerField()
    max_wait_min = serializers.IntegerField()
    daily_ml = number(null=True)
    daily_g = number(null=True)
    stop_when = serializers.CharField()
    methods = texts()
    method_details = serializers.ListField(child=MethodOut())
    syringe_ml = number(null=True)
    items = serializers.ListField(child=ItemOut())
    supplements = serializers.ListField(child=SupplementOut())
    casting = serializers.CharField(allow_null=True)


class PlanFormulaOut(serializers.Serializer[Any]):
    """How thick, and what goes into one feed."""

    dry_matter_fraction = number()
    low_fraction = number()
    high_fraction = number()
    energy_kj_per_ml = number()
    powder_g_per_feed = number()
    water_ml_per_feed = number()
    consistency = serializers.CharField()


class TemperatureOut(serializers.Serializer[Any]):
    """How warm, measured where it leaves the syringe."""

    target_c = number(null=True)
    low_c = number(null=True)
    high_c = number(null=True)
    never_above_c = number(null=True)


class BrooderOut(serializers.Serializer[Any]):
    """How warm the brooder."""

    target_c = number(null=True)
    low_c = number(null=True)
    high_c = number(null=True)
    humidity_low_fraction = number(null=True)
    humidity_high_fraction = number(null=True)
    advice = texts()


class ExpectedGainOut(serializers.Serializer[Any]):
    """Gain until tomorrow, with its 90 % interval."""

    next_day_g = number(null=True)
    low_g = number(null=True)
    high_g = number(null=True)


class CriterionOut(serializers.Serializer[Any]):
    """A criterion; `met` is null where nothing told says so."""

    code = serializers.CharField()
    text = serializers.CharField()
    met = serializers.BooleanField(allow_null=True)


class WeaningOut(serializers.Serializer[Any]):
    """Where the bird stands on the way to feeding itself."""

    phase = serializers.CharField()
    earliest_day = number(null=True)
    usual_day = number(null=True)
    drop_feed = serializers.CharField(allow_null=True)
    criteria = serializers.ListField(child=CriterionOut())


class ReleaseOut(serializers.Serializer[Any]):
    """What it must show before it goes."""

    criteria = serializers.ListField(child=CriterionOut())


class FeedingPlanOut(serializers.Serializer[Any]):
    """A plan for one bird and one day, with the reasons for every number."""

    decision = serializers.ChoiceField(choices=[word.value for word in Decision])
    look_again_at = StrictDateTimeField(allow_null=True)
    vet = VetOut()
    species = PlanSpeciesOut()
    on = StrictDateField()
    time_zone = serializers.CharField()
    age = AgeOut()
    mass = MassOut()
    stage = StageOut(allow_null=True)
    energy = EnergyOut()
    feed = FeedOut(allow_null=True)
    formula = PlanFormulaOut(allow_null=True)
    temperature = TemperatureOut(allow_null=True)
    brooder = BrooderOut(allow_null=True)
    timetable = serializers.ListField(child=StrictDateTimeField())
    expected_gain = ExpectedGainOut()
    weaning = WeaningOut()
    release = ReleaseOut()
    checks = serializers.ListField(child=PlanCheckOut())
    first_steps = serializers.ListField(child=FirstStepOut())
    cautions = serializers.ListField(child=CautionOut())
    basis = serializers.ListField(child=BasisOut())
    computed_by = ComputedByOut()
