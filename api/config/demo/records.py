"""Ten days of the scenario, entered as an app would enter them: sites, birds, weighings, looks at the crop."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from api.birds.selectors import birds_in_care
from api.config.demo.scenario import BirdTold, Scenario, SiteTold, records_forget
from api.config.demo.service import Service, named
from api.tenancy.models import Network
from api.tenancy.scope import network_scope

WEIGHED_AT = time(6, 20)


def last_morning(now: datetime, zone: ZoneInfo) -> datetime:
    """The last weighing time that is over."""
    local = now.astimezone(zone)
    on = local.date() if local.time() > WEIGHED_AT else local.date() - timedelta(days=1)
    return datetime.combine(on, WEIGHED_AT, tzinfo=zone)


def records_enter(scenario: Scenario, network: Network, service: Service, morning: datetime) -> None:
    """Bring the network to what the scenario says of this morning; entered once, however often it is run."""
    if _of_another_day(network, scenario, morning):
        records_forget(network)
    members = {member["name"]: member["id"] for member in service.pages("/members")}
    for site in scenario.site:
        service.post("/sites", _site(site, morning.date(), members))
        service.put(f"/sites/{_id(morning.date(), 'site', site.name)}/kitchen", site.kitchen)
    for bird in scenario.bird:
        service.post("/birds", _bird(bird, morning))
    for kind, items in (
        ("weighings", [item for bird in scenario.bird for item in _weighings(bird, morning)]),
        ("crop-checks", [item for bird in scenario.bird for item in _crop_checks(bird, morning)]),
        ("milestones", [item for bird in scenario.bird for item in _milestones(bird, morning)]),
    ):
        service.post(f"/{kind}/batch", {"items": items})
    for bird in scenario.bird:
        if bird.outcome:
            at = morning - timedelta(hours=bird.outcome.hours_before)
            service.put(
                f"/birds/{_id(morning.date(), 'bird', bird.name)}/outcome",
                {"kind": bird.outcome.kind, "at": at.isoformat()},
            )


def _of_another_day(network: Network, scenario: Scenario, morning: datetime) -> bool:
    with network_scope(network):
        ids = {str(uid) for uid in birds_in_care().values_list("uid", flat=True)}
    return bool(ids) and not ids & {_id(morning.date(), "bird", bird.name) for bird in scenario.bird}


def _id(on: date, *parts: object) -> str:
    return named(on.isoformat(), *parts)


def _site(site: SiteTold, on: date, members: dict[str, str]) -> dict[str, Any]:
    return {
        "id": _id(on, "site", site.name),
        "name": site.name,
        "kind": site.kind,
        "feeding_day": site.feeding_day,
        "carer_ids": [members[name] for name in site.carers],
    }


def _bird(bird: BirdTold, morning: datetime) -> dict[str, Any]:
    weighed_days = len(bird.weights_g) + bird.unweighed_mornings
    return {
        "id": _id(morning.date(), "bird", bird.name),
        "name": bird.name,
        "site_id": _id(morning.date(), "site", bird.site),
        "species": bird.species,
        "hatched_on": (morning.date() - timedelta(days=bird.hatched_days_ago)).isoformat(),
        "origin": bird.origin,
        "aim": bird.aim,
        "intake": {"at": (morning - timedelta(days=weighed_days - 1, minutes=10)).isoformat()},
    }


def _weighings(bird: BirdTold, morning: datetime) -> Iterator[dict[str, Any]]:
    for days_ago, mass_g in enumerate(reversed(bird.weights_g), start=bird.unweighed_mornings):
        yield {
            **_of(bird, morning, "weighing", days_ago),
            "at": (morning - timedelta(days=days_ago)).isoformat(),
            "mass_g": mass_g,
            "context": "before_first_feed",
            "scale_step_g": 0.1 if mass_g < 100 else 0.5,
        }


def _crop_checks(bird: BirdTold, morning: datetime) -> Iterator[dict[str, Any]]:
    for look in bird.crop:
        at = morning - timedelta(hours=look.hours_before)
        yield {
            **_of(bird, morning, "crop_check", look.hours_before),
            "at": at.isoformat(),
            "crop": look.crop,
            "last_feed_at": (morning - timedelta(hours=look.fed_hours_before)).isoformat(),
        }


def _milestones(bird: BirdTold, morning: datetime) -> Iterator[dict[str, Any]]:
    for key, days_ago in bird.milestones.items():
        at = morning - timedelta(days=days_ago)
        yield {**_of(bird, morning, "milestone", key), "key": key, "observed_at": at.isoformat()}


def _of(bird: BirdTold, morning: datetime, *parts: object) -> dict[str, Any]:
    return {
        "id": _id(morning.date(), "bird", bird.name, *parts),
        "bird_id": _id(morning.date(), "bird", bird.name),
    }
