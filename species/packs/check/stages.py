"""Rules on the stages of a rearing."""

from collections import Counter
from collections.abc import Iterator

from species.domain.profile import Profile
from species.domain.vocabulary import DevelopmentalMode

_WARMED = {DevelopmentalMode.ALTRICIAL, DevelopmentalMode.SEMI_ALTRICIAL}


def stages_cover_the_rearing(profile: Profile) -> Iterator[tuple[str, str]]:
    """Stages start on day 0 and follow each other without gap or overlap; only the last may stay open."""
    if not profile.stages:
        yield "/stages", "a profile needs at least one stage."
        return
    if profile.stages[0].ages.from_day != 0:
        yield "/stages/0/ages/from_day", "the first stage starts on hatch day, day 0."
    for index, stage in enumerate(profile.stages):
        ages = stage.ages
        if ages.to_day is not None and ages.to_day <= ages.from_day:
            yield (
                f"/stages/{index}/ages",
                f"to_day {ages.to_day:g} must be after from_day {ages.from_day:g}.",
            )
    for index, (stage, following) in enumerate(zip(profile.stages, profile.stages[1:], strict=False)):
        if stage.ages.to_day is None:
            yield f"/stages/{index}/ages/to_day", "is missing; only the last stage may stay open."
        elif stage.ages.to_day != following.ages.from_day:
            yield (
                f"/stages/{index + 1}/ages/from_day",
                f"is {following.ages.from_day:g}, but the stage before ends with day {stage.ages.to_day:g}; "
                "stages follow each other without gap or overlap.",
            )


def cautions_hold_for_a_time(profile: Profile) -> Iterator[tuple[str, str]]:
    """A caution that is not for always starts on day 0 or later and ends after it starts."""
    for index, caution in enumerate(profile.cautions):
        if caution.from_day < 0:
            yield f"/cautions/{index}/from_day", f"{caution.from_day:g} is before hatching, day 0."
        if caution.to_day is not None and caution.to_day <= caution.from_day:
            yield (
                f"/cautions/{index}/to_day",
                f"to_day {caution.to_day:g} must be after from_day {caution.from_day:g}.",
            )


def young_have_a_brooder(profile: Profile) -> Iterator[tuple[str, str]]:
    """A chick that cannot warm itself has a brooder temperature from its first stage on."""
    if profile.developmental_mode in _WARMED and profile.stages and profile.stages[0].brooder_c is None:
        yield "/stages/0/brooder_c", f"is missing; an {profile.developmental_mode} hatchling needs warmth."


def nothing_is_listed_twice(profile: Profile) -> Iterator[tuple[str, str]]:
    """Stages, milestones, methods, and the statements of each list differ from each other."""
    lists: dict[str, list[str]] = {
        "/stages": [stage.key for stage in profile.stages],
        "/milestones": [str(milestone.key) for milestone in profile.milestones],
        "/methods": [str(use.method) for use in profile.methods],
        "/cautions": [caution.code for caution in profile.cautions],
        "/weaning/criteria": [criterion.code for criterion in profile.weaning.criteria],
        "/release/criteria": [criterion.code for criterion in profile.release.criteria],
        "/former_keys": list(profile.former_keys),
        "/synonyms": list(profile.synonyms),
    }
    for pointer, words in lists.items():
        for word, times in Counter(words).items():
            if times > 1:
                yield pointer, f"{word} stands here {times} times."
