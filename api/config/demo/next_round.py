"""The next round at a site: who is due, with how much, and the mix for them."""

from collections import defaultdict
from datetime import date, datetime, timedelta
from typing import Any

from api.config.demo.service import Service

#: Birds due within this time of the first are fed in one go.
TOGETHER = timedelta(minutes=30)

Bird = dict[str, Any]
Plan = dict[str, Any]


def plans_of(birds: list[Bird], service: Service, on: date) -> list[tuple[Bird, Plan]]:
    """Ask a plan for every bird."""
    return [(bird, service.get(f"/birds/{bird['id']}/feeding-plan?on={on}")) for bird in birds]


def next_feed(plan: Plan, now: datetime) -> datetime | None:
    """The first time of the plan's timetable that is still to come."""
    return next((at for text in plan["timetable"] if (at := datetime.fromisoformat(text)) >= now), None)


def due(plans: list[tuple[Bird, Plan]], now: datetime) -> tuple[datetime | None, list[tuple[Bird, Plan]]]:
    """When the next pot is mixed, and who of its site is fed then: all who are due within half an hour of it."""
    times = [(at, bird, plan) for bird, plan in plans if (at := next_feed(plan, now)) is not None]
    pots = [(at, bird["site_id"]) for at, bird, plan in times if plan["formula"] is not None]
    if not pots:
        return None, []
    first, site_id = min(pots)
    here = [(at, bird, plan) for at, bird, plan in times if bird["site_id"] == site_id]
    return first, [(bird, plan) for at, bird, plan in here if timedelta() <= at - first <= TOGETHER]


def before(plans: list[tuple[Bird, Plan]], now: datetime, at: datetime) -> list[tuple[datetime, Bird, Plan]]:
    """Birds that are fed before the next pot is mixed, in the order of their times."""
    times = [(own, bird, plan) for bird, plan in plans if (own := next_feed(plan, now)) is not None and own < at]
    return sorted(times, key=lambda fed: fed[0])


def mixes_for(service: Service, at: datetime, birds: list[tuple[Bird, Plan]]) -> list[dict[str, Any]]:
    """Ask one mix for each powder in use; species of one powder share the pot, each at its own thickness."""
    portions: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for bird, plan in birds:
        if plan["formula"] is not None:
            profile = service.get(f"/species/{bird['species']}")
            portions[profile["default_formula"]].append(
                {
                    "label": bird["name"],
                    "volume_ml": plan["feed"]["volume_ml"],
                    "count": 1,
                    "dry_matter_fraction": plan["formula"]["dry_matter_fraction"],
                }
            )
    if not portions:
        return []
    kitchen = service.get(f"/sites/{birds[0][0]['site_id']}/kitchen")
    waters = ("hot_water_c", "cool_water_c", "powder_c", "room_c", "altitude_m", "vessel", "scoop_g")
    told = {name: kitchen[name] for name in waters if kitchen[name] is not None}
    return [
        service.post("/mixes", {"formula_key": key, "portions": wanted, "prepared_at": at.isoformat(), **told})
        for key, wanted in sorted(portions.items())
    ]
