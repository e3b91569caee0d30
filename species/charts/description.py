"""A chart in sentences, for readers who hear it."""

from __future__ import annotations

from species.charts.data import GrowthChart, Line, MarkState, Point
from species.charts.lettering import amount, day, days, listed, printable


def describe(chart: GrowthChart) -> str:
    """What the chart shows, with the figures at its ends; masses in g, ages in days since hatching."""
    told = ["Weight in grams against days since hatching."]
    if chart.bands is not None:
        bands = chart.bands
        told.append(
            f"Healthy birds of the species from day {day(bands.days[0])} to day {day(bands.days[-1])}; at the end "
            f"3rd centile {amount(bands.c3_g[-1])} g, 50th {amount(bands.c50_g[-1])} g, "
            f"97th {amount(bands.c97_g[-1])} g."
        )
    if chart.points:
        told.append(_weighings(chart.points))
    if chart.own_line is not None:
        told.append(_end("The bird's own line", chart.own_line))
    if chart.forecast is not None:
        told.append(_end("The forecast", chart.forecast))
    for number, finding in enumerate(chart.findings, start=1):
        told.append(f"Finding {number}, day {day(finding.age_days)}, {amount(finding.mass_g)} g: {finding.text}")
    if chart.stages:
        stages = (f"{stage.name}, {days(stage.from_day, stage.to_day)}" for stage in chart.stages)
        told.append(f"Stages: {'; '.join(stages)}.")
    if chart.milestones:
        told.append(f"First seen: {'; '.join(f'{one.name}, day {day(one.day)}' for one in chart.milestones)}.")
    for name, span in (("Fledging", chart.fledging), ("Weaning", chart.weaning)):
        if span is not None:
            told.append(f"{name}: {days(span.low_day, span.high_day)}.")
    return printable(" ".join(told))


def _weighings(points: tuple[Point, ...]) -> str:
    by_age = sorted(points, key=lambda point: point.age_days)
    first, last = by_age[0], by_age[-1]
    counts = {
        "questioned": sum(point.state is MarkState.QUESTIONED for point in points),
        "rejected": sum(point.state is MarkState.REJECTED for point in points),
    }
    doubtful = listed([f"{count} {word}" for word, count in counts.items() if count])
    ends = f"day {day(first.age_days)}, {amount(first.mass_g)} g"
    if len(points) > 1:
        ends = f"from {ends} to day {day(last.age_days)}, {amount(last.mass_g)} g"
    plural = "weighing" if len(points) == 1 else "weighings"
    return f"{len(points)} {plural}, {ends}{f', {doubtful}' if doubtful else ''}."


def _end(name: str, line: Line) -> str:
    interval = f", 90 % interval {amount(line.low_g[-1])} to {amount(line.high_g[-1])} g" if line.low_g else ""
    return f"{name} ends on day {day(line.ages_days[-1])} at {amount(line.mass_g[-1])} g{interval}."
