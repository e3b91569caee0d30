"""Everything known of one species (or domestic form) that a feeding plan rests on."""

from typing import Annotated

import msgspec

from species.domain.food import FormulaKey
from species.domain.growth_curve import GrowthCurve
from species.domain.milestone import Milestone
from species.domain.record import Record
from species.domain.sourcing import Band, Evidence, Flag, Quantity, Statement
from species.domain.stage import PrintedVolume, Stage
from species.domain.vocabulary import (
    DevelopmentalMode,
    FeedingKind,
    FoodGuild,
    Method,
    Skill,
    StopWhen,
)

SpeciesKey = Annotated[
    str,
    msgspec.Meta(
        pattern=r"^[a-z]+(-[a-z]+){1,2}$",
        description="Lower-case binomial, a third part for domestic forms: 'columba-livia-domestica'.",
    ),
]


class VernacularName(Record, frozen=True, kw_only=True):
    """A common name and its BCP 47 language."""

    name: str
    language: str


class Masses(Record, frozen=True, kw_only=True):
    """Masses of the species. ``peak_g`` where chicks outgrow adults before fledging."""

    adult_g: Quantity
    adult_low_g: Quantity | None = None
    adult_high_g: Quantity | None = None
    hatch_g: Quantity | None = None
    peak_g: Quantity | None = None


class RearingEnergy(Record, frozen=True, kw_only=True):
    """How the energy of the whole rearing is reckoned, and the share a warm brooder leaves of it."""

    equation: Annotated[str, msgspec.Meta(pattern=r"^(weathers|drent)$")]
    thermoneutral_share: Quantity


class FeedingTemperature(Record, frozen=True, kw_only=True):
    """Band in which food is given, measured where it leaves the syringe; ``never_above_c`` burns."""

    band_c: Band
    never_above_c: Quantity


class MethodUse(Record, frozen=True, kw_only=True):
    """A way of giving food, its skill and its tool, safest first."""

    method: Method
    skill: Skill
    tip: str | None = None
    gauge: Band | None = None
    tube_mm: Band | None = None


class Weaning(Record, frozen=True, kw_only=True):
    """Ages and limits of weaning; criteria decide, not the calendar."""

    age_days: Band | None = None
    self_feeding_mass_g: Quantity | None = None
    loss_limit_fraction: Quantity | None = None
    criteria: tuple[Statement, ...] = ()


class Release(Record, frozen=True, kw_only=True):
    """What a bird must show before it goes."""

    mass_g: Band | None = None
    criteria: tuple[Statement, ...] = ()


class ProfileCaution(Statement, frozen=True, kw_only=True):
    """What is to be watched in this species, from ``from_day`` up to, not including, ``to_day``.

    Where its code is that of a caution told of every bird, it stands in that one's place.
    """

    from_day: float = 0.0
    to_day: Annotated[float | None, msgspec.Meta(description="Left out: for as long as it is in care.")] = None

    def holds_between(self, low_days: float, high_days: float) -> bool:
        """Whether any age of an interval, in days from hatching, falls within its days."""
        return self.from_day <= high_days and (self.to_day is None or low_days < self.to_day)


class Profile(Record, frozen=True, kw_only=True):
    """A species profile, as a pack file holds it."""

    key: SpeciesKey
    scientific_name: str
    vernacular_names: Annotated[tuple[VernacularName, ...], msgspec.Meta(min_length=1)]
    synonyms: tuple[str, ...] = ()
    former_keys: tuple[SpeciesKey, ...] = ()
    order: str
    family: str
    food_guild: FoodGuild
    developmental_mode: DevelopmentalMode
    feeding_kind: FeedingKind
    evidence: Evidence
    has_crop: Flag
    masses: Masses
    growth_curve: GrowthCurve | None = None
    rearing_energy: RearingEnergy | None = None
    fledging_days: Band | None = None
    first_feed_h: Annotated[
        Band | None,
        msgspec.Meta(description="Hours after hatching: first feed not before low, not after high."),
    ] = None
    longest_wait_h: Annotated[
        Quantity | None,
        msgspec.Meta(description="Longest a crop or gizzard may take to clear before a vet is called."),
    ] = None
    stages: tuple[Stage, ...]
    printed_volumes: tuple[PrintedVolume, ...] = ()
    feed_cap_fraction: Annotated[
        Quantity | None,
        msgspec.Meta(description="Largest share of actual mass in one feed while growing; null without crop."),
    ] = None
    grown_cap_fraction: Annotated[Quantity | None, msgspec.Meta(description="The same for a fully grown bird.")] = None
    stop_when: StopWhen
    methods: tuple[MethodUse, ...] = ()
    default_formula: FormulaKey | None = None
    feeding_temperature: FeedingTemperature | None = None
    milestones: tuple[Milestone, ...] = ()
    weaning: Weaning
    release: Release
    cautions: tuple[ProfileCaution, ...] = ()

    @property
    def passerine(self) -> bool:
        """Whether the energy constants of passerines hold."""
        return self.order == "Passeriformes"

    @property
    def vernacular_name(self) -> str:
        """The first English name, or the first of any language."""
        english = (n.name for n in self.vernacular_names if n.language == "en")
        return next(english, self.vernacular_names[0].name)
