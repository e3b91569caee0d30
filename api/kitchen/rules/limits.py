"""What a kitchen may be said to hold: between which ends a value lies, and what to do outside them."""

import math
from dataclasses import dataclass

from species.biology import water
from species.domain.errors import DomainError


@dataclass(frozen=True)
class Limits:
    """Ends of what is taken, both included, and what to do outside them."""

    low: float
    high: float
    remedy: str = ""

    def hold(self, value: float, pointer: str) -> None:
        """Refuse a value outside.

        Raises
        ------
        DomainError
            With the pointer, the ends and what to do.
        """
        if not (math.isfinite(value) and self.low <= value <= self.high):
            raise DomainError(
                f"{pointer.rsplit('/', 1)[-1]} is {value:g}.",
                field=pointer,
                code="out_of_range",
                remedy=f"It must lie between {self.low:g} and {self.high:g}. {self.remedy}".strip(),
            )


IN_A_KITCHEN = {
    "hot_water_c": Limits(0.0, 100.0),
    "cool_water_c": Limits(0.0, 60.0, "Cool water is the tap's, or boiled water that has cooled."),
    "powder_c": Limits(0.0, 60.0, "Let frozen powder come to the room first."),
    "room_c": Limits(0.0, 45.0),
    "altitude_m": Limits(water.LOWEST_M, water.HIGHEST_M),
    "scoop_g": Limits(0.05, 200.0, "Weigh ten level scoops and divide by ten."),
    "vessel/heat_capacity_j_per_k": Limits(0.0, 5000.0, "A glass jug of 200 g has about 168 J/K."),
    "vessel/temperature_c": Limits(0.0, 100.0),
    "powder_dry_matter_fraction": Limits(0.5, 1.0, "A dry powder holds 0.88 to 0.97; 0.92 is usual."),
}
