"""Rules on how far a whole profile may be trusted."""

from collections.abc import Iterator

from species.domain.profile import Profile
from species.domain.sourcing import Evidence, Reach, Sourced
from species.domain.vocabulary import FeedingKind


def evidence_is_earned(profile: Profile) -> Iterator[tuple[str, str]]:
    """A curated profile rests on print for what a feed is made of; a derived one for its adult mass."""
    if profile.evidence is Evidence.INFERRED:
        return
    if profile.masses.adult_g.reach is Reach.INFERRED:
        yield "/evidence", f"masses/adult_g is inferred, so the profile cannot be {profile.evidence}."
    if profile.evidence is Evidence.DERIVED:
        return
    for stage_index, stage in enumerate(profile.stages):
        at = f"/stages/{stage_index}"
        for name in ("interval_min", "feeds_per_day", "volume_fraction", "meal_fraction", "brooder_c"):
            yield from _printed(f"{at}/{name}", getattr(stage, name))
    if profile.feeding_temperature is not None:
        yield from _printed("/feeding_temperature/band_c", profile.feeding_temperature.band_c)
        yield from _printed("/feeding_temperature/never_above_c", profile.feeding_temperature.never_above_c)
    if profile.feeding_kind is not FeedingKind.SELF_FEEDING:
        yield from _practice_is_given(profile)


def _printed(pointer: str, value: Sourced | None) -> Iterator[tuple[str, str]]:
    if value is not None and value.reach is Reach.INFERRED:
        yield (
            pointer,
            "is inferred; a curated profile rests on printed practice. Else call it derived.",
        )


def _practice_is_given(profile: Profile) -> Iterator[tuple[str, str]]:
    if not any(stage.interval_min or stage.feeds_per_day for stage in profile.stages):
        yield "/evidence", "a curated profile says how often in at least one stage."
    portions = ("volume_fraction", "meal_fraction", "daily_fraction", "pieces_per_feed")
    given = any(getattr(stage, name) is not None for stage in profile.stages for name in portions)
    if not given and not profile.printed_volumes:
        yield "/evidence", "a curated profile says how much in at least one stage or a printed table."
