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


def boiling_shown_c(altitude_m: float) -> float:
    """Temperature at which water boils, to the tenth of a degree that a thermometer shows, in C.

    Notes
    -----
    Standard atmosphere and IAPWS-95; the weather moves it by 0.8 K. energetics-and-mixing.md section 3.4, C33.
    """
    return round(float(water.boiling_c(altitude_m)), 1)


def check_waters(*, hot_water_c: float | None, cool_water_c: float | None, altitude_m: float | None) -> None:
    """Refuse waters that no kitchen has at once; what is not told is not judged, and stands at sea level.

    Raises
    ------
    DomainError
        Where the hot water is hotter than it boils, in C, or no hotter than the cool water.
    """
    if hot_water_c is None:
        return
    boils = boiling_shown_c(altitude_m or 0.0)
    if hot_water_c > boils:
        raise DomainError(
            f"Water of {hot_water_c:g} C: at {altitude_m or 0.0:g} m it boils at {boils:g} C.",
            field="/hot_water_c",
            code="above_boiling",
            remedy=f"Measure the water; give at most {boils:g}.",
        )
    if cool_water_c is not None and hot_water_c <= cool_water_c:
        raise DomainError(
            "The hot water is no hotter than the cool water.",
            field="/hot_water_c",
            code="waters_not_apart",
            remedy=f"It must be more than {cool_water_c:g}.",
        )
