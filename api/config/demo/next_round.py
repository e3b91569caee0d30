"""The next feed at the site: who is due, with how much, and the mix for them."""

from collections import defaultdict
from datetime import date, datetime, timedelta
from typing import Any

from api.config.demo.scenario import Bird, Scenario
from api.config.demo.service import Service

#: Birds due within this time of the first are fed in one go.
TOGETHER = timedelta(minutes=30)

Plan = dict[str, Any]


def plans_of(scenario: Scenario, service: Service, on: date) -> list[tuple[Bird, Plan]]:
    """Ask a plan for every bird of the scenario."""
    zone = scenario.network["time_zone"]
    return [
        (bird, service.post("/feeding-plans", {**bird.request(), "on": on.isoformat(), "time_zone": zone}))
        for bird in scenario.bird
    ]


def next_feed(plan: Plan, now: datetime) -> datetime | None:
    """The first time of the plan's timetable that is still to come."""
    return next((at for text in plan["timetable"] if (at := datetime.fromisoformat(text)) >= now), None)


def due(plans: list[tuple[Bird, Plan]], now: datetime) -> tuple[datetime | None, list[tuple[Bird, Plan]]]:
    """When the next pot is mixed, and who is fed then: all who are due within half an hour of it."""
    times = [(at, bird, plan) for bird, plan in plans if (at := next_feed(plan, now)) is not None]
    pots = [at for at, _, plan in times if plan["formula"] is not None]
    if not pots:
        return None, []
    first = min(pots)
    return first, [(bird, plan) for at, bird, plan in times if timedelta() <= at - first <= TOGETHER]


def before(plans: list[tuple[Bird, Plan]], now: datetime, at: datetime) -> list[tuple[datetime, Bird, Plan]]:
    """Birds that are fed before the next pot is mixed, in the order of their times."""
    times = [(own, bird, plan) for bird, plan in plans if (own := next_feed(plan, now)) is not None and own < at]
    return sorted(times, key=lambda fed: fed[0])


def mixes_for(
    scenario: Scenario, service: Service, at: datetime, birds: list[tuple[Bird, Plan]]
) -> list[dict[str, Any]]:
    """Ask one mix for each powder in use; species of one powder share the pot, each at its own thickness."""
    portions: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for bird, plan in birds:
        if plan["formula"] is not None:
            profile = service.get(f"/species/{bird.species}")
            portions[profile["default_formula"]].append(
                {
                    "label": bird.name,
                    "volume_ml": plan["feed"]["volume_ml"],
                    "count": 1,
                    "dry_matter_fraction": plan["formula"]["dry_matter_fraction"],
                }
            )
    return [
        service.post(
            "/mixes",
            {"formula_key": key, "portions": wanted, "prepared_at": at.isoformat(), **scenario.kitchen},
        )
        for key, wanted in sorted(portions.items())
    ]
