"""How well a pack is covered, as Markdown tables: provenance, practice that profiles share, stages that are alike."""

from collections import defaultdict
from collections.abc import Iterator

import msgspec

from species.domain.pack import Pack
from species.domain.profile import Profile
from species.domain.sourcing import Band, Quantity, Reach, Sourced
from species.domain.stage import Stage
from species.packs.sourced import provenance_counts, sourced_values

#: Values of practice, by the last part of their place in a profile.
PRACTICE = (
    "brooder_c",
    "humidity_fraction",
    "interval_min",
    "feeds_per_day",
    "feeding_day_h",
    "night_feeds",
    "crop_empties_h",
    "volume_fraction",
    "meal_fraction",
    "daily_fraction",
    "pieces_per_feed",
    "dry_matter_fraction",
    "feed_cap_fraction",
    "grown_cap_fraction",
    "band_c",
    "never_above_c",
    "first_feed_h",
    "longest_wait_h",
    "loss_limit_fraction",
)


def provenance_lines(pack: Pack) -> Iterator[str]:
    """For each profile its grade and how many values speak of the species, of its group, of an equation."""
    yield "| order | profile | grade | species | group | inferred |"
    yield "| --- | --- | --- | ---: | ---: | ---: |"
    totals = dict.fromkeys(Reach, 0)
    for profile in by_order(pack):
        counts = provenance_counts(profile)
        totals = {reach: totals[reach] + counts[reach] for reach in Reach}
        figures = " | ".join(str(counts[reach]) for reach in Reach)
        yield f"| {profile.order} | `{profile.key}` | {profile.evidence} | {figures} |"
    figures = " | ".join(str(totals[reach]) for reach in Reach)
    yield f"| | {len(pack.profiles)} profiles | | {figures} |"


def grade_lines(pack: Pack) -> Iterator[str]:
    """Profiles by order and grade."""
    grades = ("curated", "derived", "inferred")
    counts: dict[str, dict[str, int]] = defaultdict(lambda: dict.fromkeys(grades, 0))
    for profile in pack.profiles:
        counts[profile.order][profile.evidence] += 1
    yield "| order | " + " | ".join(grades) + " | all |"
    yield "| --- | " + "---: | " * (len(grades) + 1)
    for order, by_grade in sorted(counts.items()):
        yield f"| {order} | " + " | ".join(str(by_grade[grade]) for grade in grades) + f" | {sum(by_grade.values())} |"


def shared_lines(pack: Pack) -> Iterator[str]:
    """Each printed value of a group, under its sources, and who uses it: one source that gives two values shows."""
    users: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for profile in by_order(pack):
        for pointer, value in sourced_values(profile):
            field = pointer.rsplit("/", 1)[-1]
            if field in PRACTICE and value.reach is Reach.GROUP:
                place = (field, "; ".join(value.sources), _figures(value))
                if profile.key not in users[place]:
                    users[place].append(profile.key)
    yield "| value | sources | figures | used by |"
    yield "| --- | --- | --- | --- |"
    for (field, sources, figures), keys in sorted(
        users.items(), key=lambda item: (PRACTICE.index(item[0][0]), item[0])
    ):
        yield f"| `{field}` | {sources.replace('|', ',')} | {figures} | {len(keys)}: {', '.join(keys)} |"


def alike_lines(pack: Pack) -> Iterator[str]:
    """Profiles whose whole tables of stages are the same figures, and what their first stage's note says of it."""
    tables: dict[tuple[object, ...], list[Profile]] = defaultdict(list)
    for profile in by_order(pack):
        tables[tuple(_stage_figures(stage) for stage in profile.stages)].append(profile)
    alike = [profiles for profiles in tables.values() if len(profiles) > 1]
    if not alike:
        yield "No two profiles have the same table of stages."
        return
    yield "| profiles | why |"
    yield "| --- | --- |"
    for profiles in alike:
        notes = dict.fromkeys(profile.stages[0].ages.note or "no reason given" for profile in profiles)
        yield f"| {', '.join(profile.key for profile in profiles)} | {' / '.join(notes)} |"


def by_order(pack: Pack) -> list[Profile]:
    """Profiles by order, then key."""
    return sorted(pack.profiles, key=lambda profile: (profile.order, profile.key))


def _stage_figures(stage: Stage) -> tuple[object, ...]:
    figures: list[object] = [stage.ages.from_day, stage.ages.to_day, stage.foods, stage.casting]
    for field in msgspec.structs.fields(stage):
        value = getattr(stage, field.name)
        if isinstance(value, Band | Quantity):
            figures.append((field.name, _figures(value)))
    return tuple(figures)


def _figures(value: Sourced) -> str:
    if isinstance(value, Band):
        usual = f" ({value.usual:g})" if value.usual is not None else ""
        return f"{value.low:g} to {value.high:g}{usual}" if value.low != value.high else f"{value.low:g}"
    return f"{value.value:g}" if isinstance(value, Quantity) else ""
