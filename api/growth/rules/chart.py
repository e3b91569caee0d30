"""The chart of an assessment: population bands, the bird's own line, its weighings, findings and forecast."""

import math

import numpy as np

from api.catalog.rules.chart import day_range, species_bands, stage_spans
from api.catalog.rules.known import Known
from api.catalog.rules.strain import curve_of_strain
from api.growth.rules.asked import GrowthAsked
from api.growth.rules.assessment import Assessment
from api.growth.rules.series import hatched_at
from species.biology import growth_forms
from species.charts.data import FindingMark, GrowthChart, Line, MarkState, Point
from species.charts.growth import growth_chart


def assessment_chart(known: Known, asked: GrowthAsked, assessment: Assessment, *, compact: bool = False) -> str:
    """Draw an assessment as SVG; ``compact`` for a phone."""
    profile = known.profile
    curve = curve_of_strain(profile, asked.adult_mass_g)
    if curve is None:  # an assessment was made, so there is one
        raise AssertionError("An assessment without a curve cannot be drawn.")
    ages = [point.age_days for point in assessment.points]
    last_day = math.ceil(max(max(ages) + 8, curve.valid_to_day))
    own = assessment.curve
    line_ages = np.linspace(min(ages), max(ages), 60) if max(ages) > min(ages) else np.array([])
    ahead = np.array([max(ages) + n for n in range(1, len(assessment.forecast) + 1)])
    hatching, _ = hatched_at(asked)
    return growth_chart(
        GrowthChart(
            title="Growth",
            subtitle=f"{profile.vernacular_name}, {profile.scientific_name}"
            if known.listed
            else profile.scientific_name,
            hatched_on=asked.hatched_on or hatching.date(),
            bands=species_bands(curve, last_day),
            points=tuple(
                Point(
                    age_days=point.age_days,
                    mass_g=point.mass_g,
                    state=MarkState(point.state),
                    label=f"{point.mass_g:g}",
                )
                for point in assessment.points
            ),
            own_line=_line(
                line_ages,
                growth_forms.mass_g(own.form, line_ages, own.asymptote_g, own.rate_per_day, own.inflection_days),
            )
            if len(line_ages)
            else None,
            forecast=Line(
                ages_days=tuple(float(age) for age in ahead),
                mass_g=tuple(day.expected_g for day in assessment.forecast),
                low_g=tuple(day.low_g for day in assessment.forecast),
                high_g=tuple(day.high_g for day in assessment.forecast),
            ),
            findings=_findings(assessment),
            stages=stage_spans(profile, last_day),
            fledging=day_range(profile.fledging_days, last_day),
            weaning=day_range(profile.weaning.age_days, last_day),
        ),
        compact=compact,
    )


def _line(ages: np.ndarray, masses: object) -> Line:
    return Line(ages_days=tuple(float(a) for a in ages), mass_g=tuple(float(m) for m in np.asarray(masses)))


def _findings(assessment: Assessment) -> tuple[FindingMark, ...]:
    by_index = {point.index: point for point in assessment.points}
    last = [point for point in assessment.points if point.state == "accepted"][-1:]
    marks = []
    for finding in assessment.findings:
        named = finding.evidence.get("weighing")
        point = by_index[named] if named is not None else last[0] if last else assessment.points[-1]
        marks.append(FindingMark(age_days=point.age_days, mass_g=point.mass_g, code=finding.code, text=finding.text))
    return tuple(marks)
