"""A weighing among its species: the middle and the ends of what healthy birds of its age weigh, and its place there."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from api.growth.rules.individual import Prior, shown_g
from species.biology import growth_forms, population
from species.biology.bounds import FloatArray
from species.domain.record import Record

Plain = Mapping[str, Any]


class Species(Record, frozen=True, kw_only=True):
    """The typical bird's curve and how healthy birds of one told age differ: the prior, and a weighing's scatter."""

    form: str
    asymptote_g: float
    rate_per_day: float
    inflection_days: float
    log_asymptote_sd: float
    log_rate_sd: float
    inflection_sd_days: float
    residual_log_sd: float

    def middle_g(self, age_days: FloatArray) -> FloatArray:
        """Mass of the typical bird, unrounded."""
        return np.atleast_1d(growth_forms.mass_g(self.form, age_days, *self._curve))

    def gain_g_per_day(self, age_days: FloatArray) -> FloatArray:
        """Its gain, unrounded."""
        return np.atleast_1d(growth_forms.gain_g_per_day(self.form, age_days, *self._curve))

    def at_centile_g(self, age_days: FloatArray, centile: float) -> FloatArray:
        """Mass at a centile, unrounded."""
        masses = population.mass_centiles_g(
            self.form, age_days, *self._curve, *self._spreads, [centile], self.residual_log_sd
        )
        return np.ravel(masses)

    def z(self, age_days: FloatArray, mass_g: FloatArray) -> FloatArray:
        """Standard score of masses, unrounded."""
        return np.atleast_1d(
            population.z_of_mass(self.form, mass_g, age_days, *self._curve, *self._spreads, self.residual_log_sd)
        )

    def centile(self, age_days: FloatArray, mass_g: FloatArray) -> FloatArray:
        """Centile of masses in per cent, unrounded."""
        return np.atleast_1d(
            population.centile_of_mass(self.form, mass_g, age_days, *self._curve, *self._spreads, self.residual_log_sd)
        )

    @property
    def _curve(self) -> tuple[float, float, float]:
        return self.asymptote_g, self.rate_per_day, self.inflection_days

    @property
    def _spreads(self) -> tuple[float, float, float]:
        return self.log_asymptote_sd, self.log_rate_sd, self.inflection_sd_days


def species_of(prior: Prior, residual_log_sd: float) -> Species:
    """The population that a bird of so uncertain an age is held against."""
    return Species(
        form=prior.form,
        asymptote_g=prior.asymptote_g,
        rate_per_day=prior.rate_per_day,
        inflection_days=prior.inflection_days,
        log_asymptote_sd=prior.log_asymptote_sd,
        log_rate_sd=prior.log_rate_sd,
        inflection_sd_days=float(np.hypot(prior.age_shift_sd_days, prior.age_sd_days)),
        residual_log_sd=residual_log_sd,
    )


def expected_g(*, age_days: float, species: Plain) -> float:
    """Mass of the typical bird at an age, as a scale shows it."""
    return shown_g(float(Species(**species).middle_g(np.array([age_days]))[0]))


def at_centile_g(*, centile: float, age_days: float, species: Plain) -> float:
    """Mass at a centile of healthy birds of an age, as a scale shows it."""
    return shown_g(float(Species(**species).at_centile_g(np.array([age_days]), centile)[0]))


def z_of_mass(*, mass_g: float, age_days: float, species: Plain) -> float:
    """Standard score of a mass among healthy birds of an age, to 0.01."""
    return round(float(Species(**species).z(np.array([age_days]), np.array([mass_g]))[0]), 2)


def centile_of_mass(*, mass_g: float, age_days: float, species: Plain) -> float:
    """Centile of a mass among healthy birds of an age, to 0.1."""
    return round(float(Species(**species).centile(np.array([age_days]), np.array([mass_g]))[0]), 1)
