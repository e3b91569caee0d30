"""How much solid food in a meal: printed shares or pieces where there are any, else grams from the energy need."""

import math
from typing import Any

from api.plans.rules.intake import NEAR_ENOUGH
from species.domain.errors import DomainError
from species.domain.record import Record

_EPSILON = 1e-9


class Meal(Record, frozen=True, kw_only=True):
    """One meal of solid food; ``count`` for whole pieces."""

    mass_g: float
    low_g: float
    high_g: float
    count: int | None
    from_energy: bool


def meal_g(
    *,
    mass_g: float,
    meals: int,
    piece_mass_g: float | None,
    pieces_low: float | None,
    pieces_usual: float | None,
    pieces_high: float | None,
    meal_low_fraction: float | None,
    meal_usual_fraction: float | None,
    meal_high_fraction: float | None,
    daily_low_fraction: float | None,
    daily_usual_fraction: float | None,
    daily_high_fraction: float | None,
    food_kj_per_g: float,
    need_kj_per_day: float | None,
    need_low_kj_per_day: float | None,
    need_high_kj_per_day: float | None,
    ceiling_kj_per_day: float | None,
    light: bool,
    limit_fraction: float | None,
) -> Meal:
    """Size of one meal.

    Parameters
    ----------
    mass_g, meals
        Actual mass, and meals in a day.
    piece_mass_g
        Mass of one whole insect, where pieces are counted.
    pieces_low, pieces_usual, pieces_high
        Printed number of pieces in a meal.
    meal_low_fraction, meal_usual_fraction, meal_high_fraction
        Printed share of mass in a meal.
    daily_low_fraction, daily_usual_fraction, daily_high_fraction
        Printed share of mass in a day.
    food_kj_per_g
        Metabolisable energy of the food as given.
    need_kj_per_day, need_low_kj_per_day, need_high_kj_per_day
        Energy need and its interval.
    ceiling_kj_per_day
        What a day may not pass without cause: the higher of the need's interval and the clinical band.
    light
        True for the low end: an unweighed, new or emaciated bird.
    limit_fraction
        Largest share of mass in a meal of a new or an emaciated bird; null in routine. Where not even one piece is
        that small, the meal is told in grams and the piece is cut.

    Raises
    ------
    DomainError
        If nothing printed and no need tells an amount.
    """
    from_energy = False
    if pieces_low is not None and pieces_usual is not None and pieces_high is not None and piece_mass_g:
        daily_kj_per_piece = meals * piece_mass_g * food_kj_per_g
        band = _pieces_band(
            pieces_low, pieces_usual, pieces_high, daily_kj_per_piece, need_kj_per_day, ceiling_kj_per_day
        )
        low, usual, high = (count * piece_mass_g for count in band)
    elif meal_low_fraction is not None and meal_usual_fraction is not None and meal_high_fraction is not None:
        low, usual, high = (f * mass_g for f in (meal_low_fraction, meal_usual_fraction, meal_high_fraction))
        if need_kj_per_day is not None:
            wanted = need_kj_per_day / food_kj_per_g / meals
            usual = min(max(wanted, low), high)
    elif daily_low_fraction is not None and daily_usual_fraction is not None and daily_high_fraction is not None:
        low, usual, high = (f * mass_g / meals for f in (daily_low_fraction, daily_usual_fraction, daily_high_fraction))
    elif need_kj_per_day is not None and need_low_kj_per_day is not None and need_high_kj_per_day is not None:
        low, usual, high = (
            need / food_kj_per_g / meals for need in (need_low_kj_per_day, need_kj_per_day, need_high_kj_per_day)
        )
        from_energy = True
    else:
        raise DomainError(
            "Neither printed practice nor an energy need tells the size of a meal.",
            field="/species",
            code="no_amount_known",
            remedy="Ask a vet or a rescue that rears this species; amounts are not guessed here.",
        )
    if limit_fraction is not None:
        low, usual, high = (min(value, limit_fraction * mass_g) for value in (low, usual, high))
    chosen = low if light else usual
    count = math.floor(chosen / piece_mass_g + _EPSILON) if piece_mass_g and pieces_low is not None else 0
    if piece_mass_g and count:
        return Meal(
            mass_g=_shown(count * piece_mass_g),
            low_g=min(_shown(low), _shown(count * piece_mass_g)),
            high_g=_shown(high),
            count=count,
            from_energy=False,
        )
    top = _down(high)
    bottom = min(_up(low), top)
    return Meal(
        mass_g=min(max(_shown(chosen), bottom), top),
        low_g=bottom,
        high_g=top,
        count=None,
        from_energy=from_energy,
    )


def _pieces_band(
    low: float,
    usual: float,
    high: float,
    daily_kj_per_piece: float,
    need_kj_per_day: float | None,
    ceiling_kj_per_day: float | None,
) -> tuple[int, int, int]:
    """Whole pieces: the usual number; as many more as the need takes or fewer as the ceiling leaves, as printed."""
    wanted = usual
    if need_kj_per_day is not None:
        wanted = max(wanted, math.ceil(need_kj_per_day / daily_kj_per_piece - _EPSILON))
    if ceiling_kj_per_day is not None:
        wanted = min(wanted, math.floor(ceiling_kj_per_day / daily_kj_per_piece + _EPSILON))
    return round(low), min(max(round(wanted), round(low)), round(high)), round(high)


def meals_per_day(*, meals_low: int, meals_usual: int, meals_high: int, **inputs: Any) -> int:
    """Meals of a day: the usual number; more while the need is not met, fewer while the ceiling is passed.

    Parameters
    ----------
    meals_low, meals_usual, meals_high
        Fewest, usual and most meals the stage allows, those of the night included.
    **inputs
        As :func:`meal_g`, without ``meals``.
    """

    def planned(meals: int) -> float:
        meal = meal_g(meals=meals, **inputs)
        return meal.mass_g * float(inputs["food_kj_per_g"]) * meals

    meals, need, ceiling = meals_usual, inputs["need_kj_per_day"], inputs["ceiling_kj_per_day"]
    while need is not None and meals < meals_high and planned(meals) < NEAR_ENOUGH * need:
        meals += 1
    while ceiling is not None and meals > meals_low and planned(meals) > ceiling:
        meals -= 1
    return meals


def meal_mass_g(**inputs: float | bool | None) -> float:
    """Mass of :func:`meal_g`."""
    return meal_g(**inputs).mass_g  # type: ignore[arg-type]


def meal_low_g(**inputs: float | bool | None) -> float:
    """Low end of :func:`meal_g`."""
    return meal_g(**inputs).low_g  # type: ignore[arg-type]


def meal_high_g(**inputs: float | bool | None) -> float:
    """High end of :func:`meal_g`."""
    return meal_g(**inputs).high_g  # type: ignore[arg-type]


def daily_kj(*, mass_g: float, food_kj_per_g: float, meals: int) -> float:
    """Energy of a day's meals."""
    return round(mass_g * food_kj_per_g * meals, 1)


def _step(value: float) -> float:
    """What a kitchen scale shows: hundredths below 10 g, tenths below 100 g, whole grams above."""
    return 0.01 if value < 10 else 0.1 if value < 100 else 1.0


def _shown(value: float) -> float:
    step = _step(value)
    return round(round(value / step) * step, 2)


def _up(value: float) -> float:
    step = _step(value)
    return round(math.ceil(value / step - 1e-9) * step, 2)


def _down(value: float) -> float:
    step = _step(value)
    return round(math.floor(value / step + 1e-9) * step, 2)
