"""The demonstration on a terminal: plain lines, eighty to a hundred columns, read at two in the morning."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from api.config.demo.next_round import Bird, Plan

WAITING = {
    "see_vet": "a vet first",
    "identify_first": "find out what it is",
    "warm_first": "warm it first, no food yet",
    "cool_first": "cool it first, no food yet",
    "rest_first": "rest in the dark first",
    "fluids_first": "fluids first, no food yet",
    "wait_for_yolk": "yolk still feeds it",
    "wait_for_crop": "wait for the crop",
    "return_to_parents": "back to its parents",
    "self_feeding": "feeds itself",
}


def table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Lines of a table: first row the heads, columns as wide as their widest cell."""
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    for n, row in enumerate(rows):
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        if n == 0:
            yield "  ".join("-" * width for width in widths)


def birds_page(plans: Sequence[tuple[Bird, Plan]], sites: dict[str, str]) -> Iterator[str]:
    """Every bird in care: where it is, what it is, how it does, what comes next."""
    rows = [("bird", "site", "species", "day", "weight", "expected", "next", "feeds a day")]
    for bird, plan in plans:
        mass, feed = plan["mass"], plan["feed"]
        rows.append(
            (
                bird["name"],
                sites[bird["site_id"]],
                plan["species"]["vernacular_name"],
                f"{plan['age']['days']:.0f}",
                f"{mass['value_g']:g} g" if mass["value_g"] is not None else "not known",
                f"{mass['low_g']:g}-{mass['high_g']:g} g" if mass["low_g"] is not None else "",
                WAITING.get(plan["decision"], plan["decision"].replace("_", " ")),
                f"{feed['feeds_per_day']}, every {feed['interval_min']} min" if feed else "",
            )
        )
    yield from table(rows)


def alerts_page(alerts: Sequence[dict[str, Any]], names: dict[str, str]) -> Iterator[str]:
    """Open alerts, the most pressing first: what was found, and what to do about it."""
    if not alerts:
        yield "No alert is open."
    order = ("urgent", "act_today", "note")
    for alert in sorted(alerts, key=lambda one: (order.index(one["severity"]), one["since"])):
        who = names.get(alert["bird_id"], "the site")
        yield f"{who}: {alert['code'].replace('_', ' ')} ({alert['severity'].replace('_', ' ')})"
        yield f"  {alert['text']}"
        yield from (f"  - {action}" for action in alert["actions"])


def round_page(birds: Sequence[tuple[Bird, Plan]]) -> Iterator[str]:
    """The birds of one feed: how much of what, how thick, how given, when to stop."""
    rows = [("bird", "give", "share of weight", "solids", "with", "until")]
    for bird, plan in birds:
        feed, formula = plan["feed"], plan["formula"]
        rows.append(
            (
                bird["name"],
                portion(feed),
                f"{feed['percent_of_mass']:g} %",
                f"{formula['dry_matter_fraction']:.0%}" if formula else "-",
                feed["methods"][0].replace("_", " "),
                feed["stop_when"].replace("_", " "),
            )
        )
    yield from table(rows)


def before_page(fed: Sequence[tuple[datetime, Bird, Plan]]) -> Iterator[str]:
    """Birds whose turn comes before the next pot."""
    for at, bird, plan in fed:
        yield f"Before that: {bird['name']} at {at:%H:%M}, {portion(plan['feed'])}."


def portion(feed: dict[str, Any]) -> str:
    """One feed in words: millilitres of slurry, pieces or grams of food."""
    if feed["portion"] == "slurry":
        return f"{feed['volume_ml']:g} mL"
    item = feed["items"][0]
    count = f"{item['count']} x " if item["count"] else ""
    return f"{count}{item['food'].replace('_', ' ')}, {feed['mass_g']:g} g"


def mix_page(mix: dict[str, Any]) -> Iterator[str]:
    """One mix, step by step."""
    for batch in mix["batches"]:
        yield (
            f"For {', '.join(batch['labels'])}: {batch['volume_ml']:g} mL at "
            f"{batch['dry_matter_fraction']:.0%} solids, {batch['final_c']:.1f} C in the pot"
        )
        yield from (f"  {n}. {step}" for n, step in enumerate(batch["steps"], start=1))


def explained_page(bird: Bird, plan: Plan) -> Iterator[str]:
    """Why one plan says what it says."""
    feed, energy = plan["feed"], plan["energy"]
    yield (
        f"{bird['name']}, {plan['species']['vernacular_name'].lower()}, day {plan['age']['days']:.0f}, "
        f"{plan['mass']['value_g']:g} g, stage: {plan['stage']['name'].lower()}"
    )
    yield (
        f"  needs about {energy['need_kj_per_day']:g} kJ a day ({energy['low_kj_per_day']:g}-"
        f"{energy['high_kj_per_day']:g}); clinics reckon {energy['clinical_low_kj_per_day']:g}-"
        f"{energy['clinical_high_kj_per_day']:g}; planned {energy['planned_kj_per_day']:g}"
    )
    yield f"  fed at {', '.join(f'{datetime.fromisoformat(t):%H:%M}' for t in plan['timetable'])}"
    yield f"  a feed of {feed['low_ml']:g} to {feed['high_ml']:g} mL is inside the bands for its weight"
    for entry in plan["basis"]:
        if entry["field"] in {"/feed/volume_ml", "/formula/dry_matter_fraction", "/energy/need_kj_per_day"}:
            yield f"  {entry['field']} = {entry['value']:g} by {entry['rule']}, from {'; '.join(entry['sources'][:3])}"
    if plan["checks"]:
        yield "  Before the feed:"
        yield from (f"    - {check['text']}" for check in plan["checks"][:3])
    yield "  Cautions:"
    yield from (
        f"    - [{caution['severity'].replace('_', ' ')}] {caution['text']}" for caution in plan["cautions"][:6]
    )


def waiting_page(plans: Sequence[tuple[Bird, Plan]]) -> Iterator[str]:
    """Birds that must not be fed now, and what to do for them first."""
    for bird, plan in plans:
        if plan["feed"] is None and plan["first_steps"]:
            yield f"{bird['name']}: {WAITING[plan['decision']]}."
            yield from (f"  - {step['text']}" for step in plan["first_steps"])


def where_next_page(base: str, token: str, first: tuple[Bird, Plan]) -> Iterator[str]:
    """Where to look, and with what."""
    bird, plan = first
    key = plan["species"]["key"]
    yield f"Documents and a form for every request: {base}/api/v1/docs"
    yield f"A plan by its address:  {base}/api/v1/species/{key}/feeding-plan?age_days=9&mass_g=26"
    yield "With the coordinator's token (one day):"
    yield f"  export TOKEN={token}"
    yield f'  curl -H "Authorization: Bearer $TOKEN" {base}/api/v1/alerts'
    yield f'  curl -H "Authorization: Bearer $TOKEN" {base}/api/v1/birds/{bird["id"]}/feeding-plan'
    yield f'  curl -H "Authorization: Bearer $TOKEN" {base}/api/v1/birds/{bird["id"]}/growth.svg > growth.svg'


def admin_page(base: str, email: str, password: str) -> Iterator[str]:
    """How to open the admin."""
    yield f"Admin: {base}/admin/"
    yield f"  {email}, password {password} (new at every run)"
