"""Birds for the growth tests: curves of the reference table, chicks of its data, and a cockatiel of our own."""

from datetime import UTC, datetime, timedelta

from api.birds.rules.words import Context
from api.catalog.rules.known import Known
from api.growth.rules.asked import GrowthAsked, Weighing
from species.domain.growth_curve import GrowthCurve
from species.domain.profile import Masses, Profile, Release, VernacularName, Weaning
from species.domain.sourcing import Band, Evidence, Flag, Quantity, Reach
from species.domain.vocabulary import CurveForm, DevelopmentalMode, FeedingKind, FoodGuild, StopWhen

HATCHED = datetime(2027, 4, 20, 6, 0, tzinfo=UTC)


def quantity(value: float) -> Quantity:
    return Quantity(value=value, reach=Reach.SPECIES, sources=("TEST growth.md",))


def known(  # noqa: PLR0913 - the parameters of a curve
    order: str,
    asymptote_g: float,
    rate_per_day: float,
    inflection_days: float,
    *,
    adult_g: float,
    sds: tuple[float, float, float, float] = (0.08, 0.13, 1.0, 0.09),
    fledging: tuple[float, float] | None = None,
    loss_limit: float | None = None,
) -> Known:
    """A species that has a growth curve, and little else."""
    log_a, log_k, shift, residual = (quantity(sd) for sd in sds)
    curve = GrowthCurve(
        form=CurveForm.LOGISTIC,
        asymptote_g=quantity(asymptote_g),
        rate_per_day=quantity(rate_per_day),
        inflection_days=quantity(inflection_days),
        log_asymptote_sd=log_a,
        log_rate_sd=log_k,
        inflection_sd_days=shift,
        residual_log_sd=residual,
        valid_to_day=40.0,
    )
    profile = Profile(
        key="test-species",
        scientific_name="Test species",
        vernacular_names=(VernacularName(name="Test bird", language="en"),),
        order=order,
        family="Testidae",
        food_guild=FoodGuild.OMNIVORE,
        developmental_mode=DevelopmentalMode.ALTRICIAL,
        feeding_kind=FeedingKind.SOLID,
        evidence=Evidence.DERIVED,
        has_crop=Flag(value=True, reach=Reach.SPECIES, sources=("TEST none",)),
        masses=Masses(adult_g=quantity(adult_g)),
        growth_curve=curve,
        fledging_days=Band(low=fledging[0], high=fledging[1], reach=Reach.SPECIES, sources=("TEST",))
        if fledging
        else None,
        stages=(),
        stop_when=StopWhen.GAPE_STOPS,
        weaning=Weaning(loss_limit_fraction=quantity(loss_limit) if loss_limit else None),
        release=Release(),
    )
    return Known(profile=profile)


#: growth.md section 3 and species_growth_table.csv, logistic fits.
TREE_SWALLOW = known("Passeriformes", 25.004, 0.51089, 4.8167, adult_g=21.2, fledging=(18, 22))
SONG_SPARROW = known("Passeriformes", 19.0, 0.52, 4.5, adult_g=20.8, fledging=(9, 12))
ZEBRA_FINCH = known("Passeriformes", 13.0, 0.38, 7.0, adult_g=12.0, fledging=(17, 21))
COMMON_TERN = known("Charadriiformes", 125.82, 0.22538, 9.9582, adult_g=129.2, fledging=(22, 30))
COCKATIEL = known(
    "Psittaciformes",
    89.126,
    0.2207,
    13.332,
    adult_g=94.6,
    sds=(0.126, 0.105, 1.63, 0.07),
    fledging=(28, 35),
    loss_limit=0.10,
)


def asked(days_and_grams, *, context=Context.BEFORE_FIRST_FEED, **told) -> GrowthAsked:
    """Weighings at ages of a bird hatched under one's eyes."""
    return GrowthAsked(
        time_zone="Etc/UTC",
        hatched_at=HATCHED,
        weighings=tuple(
            Weighing(at=HATCHED + timedelta(days=day), mass_g=mass_g, context=context, index=n)
            for n, (day, mass_g) in enumerate(days_and_grams)
        ),
        **told,
    )
