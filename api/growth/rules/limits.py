"""What practice says of weight by group of birds: what a day may take or bring, and how long no gain may last."""

import msgspec

from species.domain.record import Record
from species.domain.vocabulary import FoodGuild


class RapidGain(Record, frozen=True, kw_only=True):
    """A share of its mass that a bird of some days should not gain in one day."""

    fraction_per_day: float
    from_day: float
    to_day: float
    source: str


class Limits(Record, frozen=True, kw_only=True):
    """Limits of one group.

    While its chicks grow: ``loss_fraction`` since the morning before; ``mornings_without_gain`` after which somebody
    must act; ``lag_days`` after hatching in which a standstill or a small loss is normal. Later:
    ``recession_fraction`` of the own peak that goes by itself before flight; 0 where every loss is a vet's matter.
    """

    loss_fraction: float
    mornings_without_gain: int
    lag_days: float
    recession_fraction: float
    rapid_gain: RapidGain | None = None
    sources: tuple[str, ...]


#: No printed figure for the group: 5 % is where an ill bird is helped with food (TUBE, adults), two mornings as in
#: parrots, a day's lag and 15 % before flight from memory.
ANY_BIRD = Limits(
    loss_fraction=0.05,
    mornings_without_gain=2,
    lag_days=1.0,
    recession_fraction=0.15,
    sources=("TUBE 5-10 % drop", "COMMON two mornings"),
)
OF_ORDER: dict[str, Limits] = {
    # "More than two consecutive days" without gain or with loss, the cautious end; lag d0-3. A loss beyond 3 % in a
    # day is from memory. Before flight: upper quartile of 21 species.
    "Psittaciformes": Limits(
        loss_fraction=0.03,
        mornings_without_gain=2,
        lag_days=3.0,
        recession_fraction=0.16,
        sources=("HRB p.599", "ARI growth chart", "AMP growth.md section 4"),
    ),
    # Any day without gain while growing.
    "Columbiformes": Limits(
        loss_fraction=0.05, mornings_without_gain=1, lag_days=1.0, recession_fraction=0.10, sources=("HRB p.450",)
    ),
    # Flat for the first 48 h.
    "Charadriiformes": Limits(
        loss_fraction=0.05, mornings_without_gain=2, lag_days=2.0, recession_fraction=0.15, sources=("HRB pp.430-432",)
    ),
    # Ten per cent up or down from day to day is normal; two to three days without increase are not.
    "Pelecaniformes": Limits(
        loss_fraction=0.10, mornings_without_gain=2, lag_days=1.0, recession_fraction=0.15, sources=("HRB p.282",)
    ),
    # Loses until day 3.
    "Phoenicopteriformes": Limits(
        loss_fraction=0.05,
        mornings_without_gain=2,
        lag_days=3.0,
        recession_fraction=0.15,
        rapid_gain=RapidGain(fraction_per_day=0.20, from_day=3.0, to_day=1000.0, source="HRB pp.193-194"),
        sources=("HRB pp.193-194",),
    ),
    # The barn owl falls by a fifth by itself.
    "Strigiformes": Limits(
        loss_fraction=0.05,
        mornings_without_gain=2,
        lag_days=1.0,
        recession_fraction=0.21,
        sources=("HRB p.491", "D&H01 abstract"),
    ),
    "Falconiformes": Limits(
        loss_fraction=0.05, mornings_without_gain=2, lag_days=1.0, recession_fraction=0.12, sources=("HRB p.340",)
    ),
    "Accipitriformes": Limits(
        loss_fraction=0.05, mornings_without_gain=2, lag_days=1.0, recession_fraction=0.12, sources=("HRB p.340",)
    ),
    # Upper quartiles of the falls before flight.
    "Passeriformes": msgspec.structs.replace(
        ANY_BIRD, recession_fraction=0.19, sources=(*ANY_BIRD.sources, "AMP growth.md section 4")
    ),
    "Procellariiformes": msgspec.structs.replace(
        ANY_BIRD, recession_fraction=0.22, sources=(*ANY_BIRD.sources, "AMP growth.md section 4")
    ),
}
OF_FAMILY: dict[str, Limits] = {
    # The cliff swallow falls by 22 %.
    "Hirundinidae": msgspec.structs.replace(OF_ORDER["Passeriformes"], recession_fraction=0.22),
    # Reared by hand they should not drop; a twentieth is scale and the night.
    "Turdidae": msgspec.structs.replace(ANY_BIRD, recession_fraction=0.05, sources=("HRB pp.712-714",)),
    "Threskiornithidae": msgspec.structs.replace(
        OF_ORDER["Pelecaniformes"],
        rapid_gain=RapidGain(fraction_per_day=0.15, from_day=21.0, to_day=30.0, source="HRB p.297"),
    ),
}
#: Parrots of nectar and pollen: a second day without gain, or any loss before flight, is a vet's matter. One per cent
#: is the scale and a dropping (common practice, no source).
LORIES = Limits(
    loss_fraction=0.01, mornings_without_gain=2, lag_days=3.0, recession_fraction=0.0, sources=("HRB p.617",)
)
#: Parrots so young or so small are acted on after one morning (practice, rule 13; from memory).
SMALL_PARROT_DAYS, SMALL_PARROT_G = 10.0, 20.0


def limits_of(order: str, family: str, food_guild: FoodGuild) -> Limits:
    """Limits of a bird's kind, the nearest that is printed; those of any bird where none is."""
    if order == "Psittaciformes" and food_guild is FoodGuild.NECTARIVORE:
        return LORIES
    return OF_FAMILY.get(family) or OF_ORDER.get(order) or ANY_BIRD


def small_parrot(order: str, age_days: float, mass_g: float) -> bool:
    """Whether a bird is one that is acted on after a single morning."""
    return order == "Psittaciformes" and (age_days < SMALL_PARROT_DAYS or mass_g < SMALL_PARROT_G)
