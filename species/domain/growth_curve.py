"""Expected mass against age, and how much healthy birds differ."""

from typing import Annotated

import msgspec

from species.domain.record import Record
from species.domain.sourcing import Quantity
from species.domain.vocabulary import CurveForm


class GrowthCurve(Record, frozen=True, kw_only=True):
    """Form, parameters and their spread between individuals.

    Spreads are standard deviations of log asymptote, of log rate and of the age at inflection;
    ``residual_log_sd`` is a day's scatter about a bird's own curve (gut fill, scale).
    """

    form: CurveForm
    asymptote_g: Quantity
    rate_per_day: Quantity
    inflection_days: Quantity
    log_asymptote_sd: Quantity
    log_rate_sd: Quantity
    inflection_sd_days: Quantity
    residual_log_sd: Quantity
    valid_from_day: Annotated[float, msgspec.Meta(ge=0)] = 0.0
    valid_to_day: Annotated[
        float, msgspec.Meta(gt=0, description="Last age the curve was fitted to; later is the plateau.")
    ]
