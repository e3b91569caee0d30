"""A request for a mix, completed: what was not told is filled in, and the answer says with what and why."""

from collections.abc import Mapping
from typing import Any

import msgspec

from api.kitchen.rules.powders import PowderComposition
from api.plans.rules.mix import Assumption, MixRequest
from species.biology.powder import COMPONENTS, fractions
from species.domain.errors import DomainError
from species.domain.food import Formula

TARGET = Assumption(field="/target_c", value=39.5, why="The middle of the band that is given, 38 to 41 C.")
HOT_WATER = Assumption(
    field="/hot_water_c",
    value=80.0,
    why="A kettle that boiled and stood with its lid open, as it pours. Measure it: 2 C less move the mix by about "
    "0.7 C.",
)
COOL_WATER = Assumption(field="/cool_water_c", value=20.0, why="Boiled water that has cooled to an ordinary room.")
ROOM = Assumption(field="/room_c", value=21.0, why="An ordinary room; it matters for how fast the mix cools.")
SPARE = Assumption(field="/spare_fraction", value=0.1, why="What stays in the pot and the syringes: a tenth is usual.")
SEA_LEVEL = Assumption(field="/altitude_m", value=0.0, why="Sea level, where water boils hottest.")
NO_VESSEL = Assumption(
    field="/vessel", value="none", why="The pot is rinsed with hot water first, so it takes no heat from the mix."
)
#: Made-up powder X of the notes: a usual label. Its heat capacity lies within 7 % of flour's.
USUAL_SHARES = {"protein": 0.20, "fat": 0.10, "carbohydrate": 0.55, "fibre": 0.03, "ash": 0.04}


def mix_request(told: Mapping[str, Any], formula: Formula | None = None) -> MixRequest:
    """Complete a request.

    Parameters
    ----------
    told
        Values by the names of the contract; ``formula`` a mapping with ``dry_matter_fraction`` or ``composition``.
    formula
        The catalogue's, where the carer named one instead.

    Raises
    ------
    DomainError
        If nothing tells the dry matter of the powder, or its composition does not add up.
    """
    values = {name: value for name, value in told.items() if name not in ("formula", "formula_key")}
    assumed: list[Assumption] = []

    def fill(assumption: Assumption) -> None:
        name = assumption.field.removeprefix("/")
        if name not in values:
            values[name] = assumption.value
            assumed.append(assumption)

    for assumption in (TARGET, HOT_WATER, COOL_WATER, ROOM):
        fill(assumption)
    room_c = values["room_c"]
    fill(Assumption(field="/powder_c", value=room_c, why="The powder is as warm as the room."))
    for assumption in (SPARE, SEA_LEVEL):
        fill(assumption)
    if "vessel" not in values:
        assumed.append(NO_VESSEL)
    elif "temperature_c" not in values["vessel"]:
        values["vessel"] = {**values["vessel"], "temperature_c": room_c}
        assumed.append(Assumption(field="/vessel/temperature_c", value=room_c, why="The pot is as warm as the room."))
    values["portions"] = [
        {"label": f"portion {number}", **portion} for number, portion in enumerate(values["portions"], start=1)
    ]
    if formula is not None:
        values |= _of_catalogue(formula)
    else:
        values |= _of_bag(told["formula"], assumed)
    return msgspec.convert({**values, "assumed": assumed}, MixRequest)


def usual_composition(dry_matter_fraction: float) -> PowderComposition:
    """A usual powder of that dry matter: the rest is water, the solids in the proportion of a usual label."""
    scale = dry_matter_fraction / sum(USUAL_SHARES.values())
    return PowderComposition(
        water=1.0 - dry_matter_fraction, **{name: share * scale for name, share in USUAL_SHARES.items()}
    )


def _of_catalogue(formula: Formula) -> dict[str, Any]:
    sources = (*formula.dry_matter_fraction.sources, *formula.composition.sources)
    return {
        "powder_dry_matter_fraction": formula.dry_matter_fraction.value,
        "composition": PowderComposition(**{name: getattr(formula.composition, name) for name in COMPONENTS}),
        "powder_sources": sources,
    }


def _of_bag(told: Mapping[str, Any], assumed: list[Assumption]) -> dict[str, Any]:
    dry_matter, label = told.get("dry_matter_fraction"), told.get("composition")
    if label is not None:
        if dry_matter is None:
            dry_matter = 1.0 - _shares(label)["water"]
        return {"powder_dry_matter_fraction": dry_matter, "composition": PowderComposition(**label)}
    if dry_matter is None:
        raise DomainError(
            "Nothing tells how much of the powder is dry matter.",
            field="/formula/dry_matter_fraction",
            code="dry_matter_missing",
            remedy="Give it (1 less the moisture on the label), or the composition.",
        )
    assumed.append(
        Assumption(
            field="/formula/composition",
            value="usual",
            why="Solids in the proportion of a usual label: protein 20, fat 10, carbohydrate 55, fibre 3, ash 4.",
        )
    )
    return {"powder_dry_matter_fraction": dry_matter, "composition": usual_composition(dry_matter)}


def _shares(label: Mapping[str, float]) -> dict[str, float]:
    try:
        return fractions(label)
    except DomainError as error:
        raise DomainError(
            error.detail, field=f"/formula/{error.field}", code=error.code, remedy=error.remedy
        ) from error
