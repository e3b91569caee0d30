"""What a report takes from a bird's plan of the day."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from api.plans.rules.plan import Feed
from species.domain.vocabulary import Portion


def plan_seen(plan: Mapping[str, Any]) -> dict[str, Any]:
    """The part of a plan that a report tells, by the names of :class:`api.reports.rules.seen.BirdSeen`.

    Parameters
    ----------
    plan
        A feeding plan, field by field.
    """
    feed = plan["feed"]
    return {
        "stage": plan["stage"].name if plan["stage"] else None,
        "decision": plan["decision"],
        "vet_needed": plan["vet"].needed,
        "vet_within_h": plan["vet"].within_h,
        "vet_reasons": plan["vet"].reasons,
        "weaning": plan["weaning"].phase,
        "timetable": tuple(datetime.fromisoformat(at) for at in plan["timetable"]),
        "portion": portion_in_words(feed) if feed else "",
    }


def portion_in_words(feed: Feed) -> str:
    """One feed as it is measured: millilitres of slurry, pieces or grams of food; whether it waits for a weight."""
    said = []
    if feed.portion is not Portion.SOLID and feed.volume_ml is not None:
        said.append(f"{feed.volume_ml:g} mL")
    if feed.portion is not Portion.SLURRY and feed.items:
        first = feed.items[0]
        food = first.food.replace("_", " ")
        said.append(f"{first.count} x {food}" if first.count else food)
        if feed.mass_g is not None:
            said.append(f"{feed.mass_g:g} g")
    return ", ".join(said) + (" (not weighed)" if feed.provisional else "")
