"""What a look at the crop says of a bird. The judgement is the plan's gate; here it gets a name and a time.

Food by day is normal in parrots, and a crop should be empty once in 24 h, best before the first feed (APN, DON18;
design: practice, rule 8). So one look clears a slow or stopped crop only when it found it empty: a crop that is being
filled every few hours tells nothing either way.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from api.alerts.rules.looks import Look, finding_of
from api.birds.rules.words import Crop, CropContent, CropWall
from api.growth.rules.findings import ASK_VET, Finding
from api.plans.rules import gate, red_flags
from api.plans.rules.bird import Bird, emptying_h
from api.plans.rules.feeding_day import no_feed_yet
from api.plans.rules.red_flags import RedFlag
from api.plans.rules.seen import HOLDING_FOOD, Seen, seed_of_its_own, slow
from api.web.rules.cautions import Severity
from species.domain.localtime import minutes_between
from species.domain.record import Record

CODES = frozenset({"crop_slow", "crop_stopped", "crop_injury", "crop_content"})
#: A crop is to be found empty once in this time (APN).
EMPTY_ONCE_IN_H = 24.0
#: Nobody rears a chick on a feed a day: a last feed longer ago means that feeds were not written down.
FED_WITHIN_H = 24.0
_HOLDING = HOLDING_FOOD | {Crop.RESIDUE}
_CODE_OF: dict[RedFlag, str] = {
    **dict.fromkeys(red_flags.CROP_WALLS.values(), "crop_injury"),
    **dict.fromkeys(red_flags.CROP_CONTENTS.values(), "crop_content"),
    red_flags.CROP_DISTENDED: "crop_stopped",
    red_flags.CROP_STOPPED: "crop_stopped",
    red_flags.CROP_SLOW_AND_NO_GAIN: "crop_stopped",
    red_flags.CROP_FULL_AT_DAWN: "crop_slow",
    red_flags.CROP_RESIDUE_AND_NO_GAIN: "crop_slow",
}
_ACTIONS = {
    "crop_slow": (
        "No larger feed until the crop has been empty twice, and none on top of a full one.",
        "Check its warmth, and how thick and how warm the food is.",
        "Feel it again before the next feed, and before the first feed tomorrow.",
    ),
    "crop_stopped": (
        "No food on top. Keep it warm.",
        ASK_VET,
        "Do not press the crop: it comes up and is breathed in.",
    ),
    "crop_injury": (ASK_VET, "Look at the skin over the crop every day for 14 days."),
    "crop_content": ("No food on top.", ASK_VET, "Do not press the crop: it comes up and is breathed in."),
}


class CropCheck(Record, frozen=True, kw_only=True):
    """A look at the crop, with what is known of that hour.

    Attributes
    ----------
    at
        UTC.
    hours_since_feed
        Null where no feed of the last day is known.
    at_dawn
        The day's first feed was still to come.
    no_gain
        The bird's weights show no gain (true) or gain (false); null where they tell nothing.
    """

    at: datetime
    crop: Crop
    crop_content: CropContent | None = None
    crop_wall: CropWall | None = None
    hours_since_feed: float | None = None
    at_dawn: bool = False
    no_gain: bool | None = None


class CropPractice(Record, frozen=True, kw_only=True):
    """What is known of the crops of its kind at its stage."""

    has_crop: bool
    feathered: bool
    food_guild: str
    emptying_h: float | None
    longest_wait_h: float | None


def practice_of(bird: Bird) -> CropPractice:
    """What the profile and the stage of a bird say of its crop."""
    wait = bird.profile.longest_wait_h
    return CropPractice(
        has_crop=bird.profile.has_crop.value,
        feathered=bird.feathered,
        food_guild=bird.profile.food_guild.value,
        emptying_h=emptying_h(bird.stage),
        longest_wait_h=wait.value if wait else None,
    )


def check_read(  # noqa: PLR0913 - a row of the record and what stands around it
    *,
    at: datetime,
    crop: Crop,
    crop_content: CropContent | None,
    crop_wall: CropWall | None,
    last_feed_at: datetime | None,
    fed_at: Iterable[datetime],
    zone: ZoneInfo,
    first: time,
    no_gain: bool | None = None,
) -> CropCheck:
    """Put a look at the crop among the feeds.

    Parameters
    ----------
    at, crop, crop_content, crop_wall
        As recorded.
    last_feed_at
        As the carer told it; null where not, and the record's feeds stand in.
    fed_at
        Feeds of the record, in any order. One at the very time of the look came after it.
    zone, first
        Where the bird is, and the first feed there by the carer's clock.
    no_gain
        As in :class:`CropCheck`.
    """
    at = at.astimezone(UTC)
    last = last_feed_at or max((feed for feed in fed_at if feed.astimezone(UTC) < at), default=None)
    since_h = minutes_between(last, at) / 60 if last is not None else None
    if since_h is not None and since_h > FED_WITHIN_H:
        last = since_h = None
    return CropCheck(
        at=at,
        crop=crop,
        crop_content=crop_content,
        crop_wall=crop_wall,
        hours_since_feed=since_h,
        at_dawn=no_feed_yet(at=at, on=at.astimezone(zone).date(), zone=zone, last_fed_at=last, first=first),
        no_gain=no_gain,
    )


def crop_looks(checks: Iterable[CropCheck], practice: CropPractice) -> tuple[Look, ...]:
    """Judge every look at a bird's crop, in order of time.

    Returns
    -------
    tuple of Look
        With ``crop_injury`` and ``crop_content`` as the gate flags them; ``crop_stopped``: stretched, past the longest
        wait, or full and no gain; ``crop_slow``: food longer than usual, or before the first feed. A bird without a
        crop has none of the last two.
    """
    looks, not_empty_since = [], None
    for check in sorted(checks, key=lambda check: check.at):
        holding = practice.has_crop and check.crop in _HOLDING
        if check.crop is Crop.EMPTY:
            not_empty_since = None
        elif holding and not_empty_since is None:
            not_empty_since = check.at
        found = tuple(_findings(check, practice, not_empty_since))
        looks.append(Look(at=check.at, judged=_judged(check, practice), findings=found))
    return tuple(looks)


def _judged(check: CropCheck, practice: CropPractice) -> frozenset[str]:
    """What would have been seen, had it been there."""
    codes: set[str] = set()
    if check.crop is Crop.EMPTY:
        codes |= {"crop_slow", "crop_stopped", "crop_content"}
    elif practice.has_crop and seed_of_its_own(_seen(check, practice)):
        codes |= {"crop_slow", "crop_stopped"}
    if check.crop_content is not None:
        codes.add("crop_content")
    if check.crop_wall is not None:
        codes.add("crop_injury")
    return frozenset(codes)


def _findings(check: CropCheck, practice: CropPractice, not_empty_since: datetime | None) -> Iterator[Finding]:
    seen = _seen(check, practice)
    flags: dict[str, list[RedFlag]] = {}
    for flag in gate.red_flags_seen(seen):
        flags.setdefault(_CODE_OF[flag], []).append(flag)
    for code, soonest_first in flags.items():
        if code != "crop_slow" or "crop_stopped" not in flags:
            yield _flagged(code, soonest_first, check)
    if not flags.keys() & {"crop_slow", "crop_stopped"}:
        yield from _slow(check, practice, seen, not_empty_since)


def _flagged(code: str, flags: Sequence[RedFlag], check: CropCheck) -> Finding:
    """A vet within four hours means that somebody rings within this one; the same day leaves the day."""
    soonest = flags[0].within_h
    return finding_of(
        code,
        Severity.URGENT if soonest <= red_flags.SOON_H else Severity.ACT_TODAY,
        since=check.at,
        text=" ".join(dict.fromkeys(flag.why for flag in flags)),
        evidence={**_told(check), "vet_within_h": soonest},
        sources=[source for flag in flags for source in flag.sources],
        actions=[*(flag.meanwhile for flag in flags if flag.meanwhile), *_ACTIONS[code]],
    )


def _slow(check: CropCheck, practice: CropPractice, seen: Seen, not_empty_since: datetime | None) -> Iterator[Finding]:
    """Food longer than usual. Some food by day is only a note, but for birds that are fed on a nearly empty crop."""
    if not practice.has_crop or check.crop not in _HOLDING or seed_of_its_own(seen):
        return
    told, severity, since = _told(check), Severity.ACT_TODAY, check.at
    if check.at_dawn:
        text = "The crop is not empty before the first feed."
    elif check.crop is Crop.NOT_EMPTIED or slow(seen):
        text = "There is food in the crop longer than usual."
        some = check.crop in {Crop.PARTLY_FULL, Crop.RESIDUE}
        nearly_empty_is_enough = practice.food_guild not in gate.NEARLY_EMPTY_FIRST or check.crop is Crop.RESIDUE
        severity = Severity.NOTE if some and nearly_empty_is_enough else severity
    elif not_empty_since is not None and check.at - not_empty_since >= timedelta(hours=EMPTY_ONCE_IN_H):
        hours = (check.at - not_empty_since) / timedelta(hours=1)
        text = f"The crop has not been found empty for {hours:.0f} hours; once a day it should be."
        told, severity, since = {**told, "not_empty_h": round(hours, 1)}, Severity.NOTE, not_empty_since
    else:
        return
    yield finding_of(
        "crop_slow",
        severity,
        since=since,
        text=text,
        evidence=told,
        sources=("APN crop emptying", "ARI growth chart page", "HRB p.593"),
        actions=_ACTIONS["crop_slow"],
    )


def _told(check: CropCheck) -> dict[str, object]:
    since = check.hours_since_feed
    return {
        "crop": check.crop.value,
        "crop_content": check.crop_content.value if check.crop_content else None,
        "crop_wall": check.crop_wall.value if check.crop_wall else None,
        "hours_since_feed": round(since, 2) if since is not None else None,
        "at_dawn": check.at_dawn,
    }


def _seen(check: CropCheck, practice: CropPractice) -> Seen:
    """The crop as the gate sees it, and of all else nothing: that is the plan's to ask for."""
    return Seen(
        identified=True,
        guild_has_practice=True,
        species_certainty="certain",
        feeding_kind="unknown",
        developmental_mode="unknown",
        food_guild=practice.food_guild,
        has_crop=practice.has_crop,
        age_h=None,
        first_feed_low_h=None,
        yolk_absorbed=None,
        feathered=practice.feathered,
        grown=False,
        feeds_itself=False,
        mass_g=None,
        expected_g=None,
        origin="unknown",
        rearing="hand",
        first_feed_in_care=False,
        body="unknown",
        hydration="unknown",
        dehydration_fraction=None,
        body_condition="unknown",
        alertness=None,
        swallowing="unknown",
        crop=check.crop.value,
        crop_content=check.crop_content.value if check.crop_content else None,
        crop_wall=check.crop_wall.value if check.crop_wall else None,
        droppings=None,
        signs=(),
        hours_since_last_feed=check.hours_since_feed,
        at_dawn=check.at_dawn,
        emptying_h=practice.emptying_h,
        longest_wait_h=practice.longest_wait_h,
        no_gain=check.no_gain,
    )
