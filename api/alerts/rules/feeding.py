"""What the feeds of a bird say: how they were given, held against its bands, and how it took them."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any

from api.alerts.rules.looks import Look, finding_of
from api.alerts.rules.quiet import WATCH_H
from api.birds.rules.words import Purpose, Response
from api.catalog.rules.known import Known
from api.growth.rules.findings import ASK_VET, Finding
from api.plans.rules import need, red_flags
from api.plans.rules.bird import read_bird
from api.plans.rules.given import given_cautions
from api.plans.rules.planning import situation_of
from api.plans.rules.practice_now import cap_ml
from api.plans.rules.request import Condition, Given, PlanRequest
from api.web.rules.cautions import Caution, Severity
from api.web.rules.ledger import Ledger
from species.domain.record import Record
from species.domain.vocabulary import FoodGuild

OF_HOW_GIVEN = frozenset({"too_hot", "too_cool", "too_dilute", "too_thick", "overfilled"})
OF_HOW_TAKEN = frozenset({"refusing_feeds", "regurgitation", "aspiration_suspected"})
CODES = OF_HOW_GIVEN | OF_HOW_TAKEN
#: Thin by purpose: for a feed or two after a slow crop (HRB p.593), or no food at all.
THIN_BY_PURPOSE = frozenset({Purpose.RECOVERY, Purpose.FLUIDS})
#: Feeds left one after the other before it is called refusing; at weaning a feed is offered to be left. Common
#: practice, no source.
REFUSED_RUNNING = 2
#: A cough alone stops a feed (HRB p.9); twice within a day food goes the wrong way. Common practice, no source.
COUGHED_WITHIN_H = 24.0
_ACTIONS = {
    "too_hot": ("Measure in the syringe, on every fill; check the thermometer in ice water.",),
    "too_cool": ("Measure in the syringe, on every fill, and warm the pot in a water bath.",),
    "too_dilute": ("Weigh powder and water for the next mix.",),
    "too_thick": ("Weigh powder and water for the next mix.",),
    "overfilled": ("Weigh the bird, and ask for its plan anew.", "Listen to its breathing after the feed."),
}


class FeedBands(Record, frozen=True, kw_only=True):
    """Bands that hold for a bird on the day of a feed; null where nothing is printed or the bird was not weighed."""

    age_days: float
    slurry: bool
    nectar: bool = False
    dry_matter_low_fraction: float | None = None
    dry_matter_high_fraction: float | None = None
    low_c: float | None = None
    high_c: float | None = None
    never_above_c: float | None = None
    cap_ml: float | None = None
    cap_g: float | None = None


class FeedGiven(Record, frozen=True, kw_only=True):
    """One feed as recorded (UTC, amounts of a single feed) and the bands of its day; null bands judge heat alone."""

    at: datetime
    purpose: Purpose = Purpose.ROUTINE
    volume_ml: float | None = None
    mass_g: float | None = None
    temperature_c: float | None = None
    dry_matter_fraction: float | None = None
    response: Response | None = None
    bands: FeedBands | None = None


def bands_of(known: Known, request: PlanRequest, *, now: datetime) -> FeedBands | None:
    """Bands of a bird on the day a request speaks of; none where its stage is not known.

    Parameters
    ----------
    known, request
        The bird as its feeding plan is asked for; with its weight of that day, or the size of a feed is not judged.
    now
        The present instant, aware.

    Raises
    ------
    DomainError
        As :func:`api.plans.rules.bird.read_bird`.
    """
    ledger = Ledger()
    bird = read_bird(known, request, now=now, ledger=ledger)
    situation = situation_of(bird, need.energy_read(bird.profile, bird.curve, bird.age, bird.mass, ledger))
    if situation is None:
        return None
    solids, warmth = situation.stage.dry_matter_fraction, bird.profile.feeding_temperature
    return FeedBands(
        age_days=bird.age.days,
        slurry=solids is not None,
        nectar=bird.profile.food_guild is FoodGuild.NECTARIVORE,
        dry_matter_low_fraction=solids.low if solids else None,
        dry_matter_high_fraction=solids.high if solids else None,
        low_c=warmth.band_c.low if warmth else None,
        high_c=warmth.band_c.high if warmth else None,
        never_above_c=warmth.never_above_c.value if warmth else None,
        cap_ml=cap_ml(situation),
    )


def feed_looks(feeds: Iterable[FeedGiven]) -> tuple[Look, ...]:
    """Judge every feed of a bird, in order of time.

    Returns
    -------
    tuple of Look
        Cautions of :func:`api.plans.rules.given.given_cautions` that ask for something today, as findings; and
        ``refusing_feeds``, ``regurgitation``, ``aspiration_suspected``. Food given above its limit opens a watch of
        14 days over the crop (RIV08), told as ``watch_until``.
    """
    in_time = sorted(feeds, key=lambda feed: feed.at)
    return tuple(
        Look(
            at=feed.at,
            judged=_judged(feed),
            findings=(*_of_how_given(feed), *_of_how_taken(in_time[: place + 1])),
        )
        for place, feed in enumerate(in_time)
    )


def _judged(feed: FeedGiven) -> frozenset[str]:
    told = (
        (feed.temperature_c is not None, {"too_hot", "too_cool"}),
        (feed.dry_matter_fraction is not None and feed.purpose not in THIN_BY_PURPOSE, {"too_dilute", "too_thick"}),
        (feed.volume_ml is not None or feed.mass_g is not None, {"overfilled"}),
        (feed.response is not None, {"regurgitation", "aspiration_suspected"}),
        (feed.response is not None and feed.response is not Response.REFUSED, {"refusing_feeds"}),
    )
    return frozenset(code for known, codes in told if known for code in codes)


def _of_how_given(feed: FeedGiven) -> Iterator[Finding]:
    bands = feed.bands or FeedBands(age_days=0.0, slurry=False)
    cautions = given_cautions(
        Given(
            dry_matter_fraction=None if feed.purpose in THIN_BY_PURPOSE else feed.dry_matter_fraction,
            temperature_c=feed.temperature_c,
            volume_ml=feed.volume_ml,
            mass_g=feed.mass_g,
        ),
        Condition(),
        **{name: getattr(bands, name) for name in bands.__struct_fields__},
    )
    for caution in cautions:
        if caution.severity is not Severity.NOTE:
            yield _as_finding(caution, feed)


def _as_finding(caution: Caution, feed: FeedGiven) -> Finding:
    burnt = caution.code == "too_hot" and caution.severity is Severity.URGENT
    evidence: dict[str, Any] = {
        "temperature_c": feed.temperature_c,
        "volume_ml": feed.volume_ml,
        "mass_g": feed.mass_g,
        "dry_matter_fraction": feed.dry_matter_fraction,
    }
    if burnt:
        evidence["watch_until"] = (feed.at + timedelta(hours=WATCH_H)).isoformat()
    watch = (ASK_VET, "Look at the skin over the crop every day for 14 days: red, blistered, wet.") if burnt else ()
    return finding_of(
        caution.code,
        caution.severity,
        since=feed.at,
        text=caution.text,
        evidence=evidence,
        sources=caution.sources,
        actions=[*watch, *_ACTIONS[caution.code]],
    )


def _of_how_taken(feeds: Sequence[FeedGiven]) -> Iterator[Finding]:
    """What the last of these feeds, after those before it, says."""
    feed = feeds[-1]
    if feed.response is Response.REGURGITATED:
        yield _flagged(
            "regurgitation", red_flags.SIGNS["regurgitation"], feed, "Smaller feeds, and none that is forced."
        )
    elif feed.response is Response.LEAKED:
        yield _flagged("aspiration_suspected", red_flags.SIGNS["food_from_nostrils"], feed)
    elif feed.response is Response.COUGHED:
        yield _coughed(feeds)
    elif feed.response is Response.REFUSED:
        yield from _refused(feeds)


def _flagged(code: str, flag: red_flags.RedFlag, feed: FeedGiven, *actions: str) -> Finding:
    return finding_of(
        code,
        Severity.URGENT if flag.within_h <= red_flags.SOON_H else Severity.ACT_TODAY,
        since=feed.at,
        text=flag.why,
        evidence={"response": feed.response.value if feed.response else None, "vet_within_h": flag.within_h},
        sources=flag.sources,
        actions=[*([flag.meanwhile] if flag.meanwhile else []), *actions, ASK_VET],
    )


def _coughed(feeds: Sequence[FeedGiven]) -> Finding:
    last = feeds[-1].at
    coughs = [
        feed
        for feed in feeds
        if feed.response is Response.COUGHED and last - feed.at <= timedelta(hours=COUGHED_WITHIN_H)
    ]
    again = len(coughs) > 1
    return finding_of(
        "aspiration_suspected",
        Severity.URGENT if again else Severity.ACT_TODAY,
        since=coughs[0].at,
        text=f"It coughed at {len(coughs)} feeds within a day: food may go into its airway."
        if again
        else "It coughed at a feed: food may have gone into its airway.",
        evidence={"response": Response.COUGHED.value, "coughed": len(coughs)},
        sources=("HRB p.9", "HRB p.616"),
        actions=(
            "Stop the feed at a cough, and feed only while it gapes, pumps or swallows.",
            "Listen to its breathing: wet or clicking, nothing more by mouth and a vet at once.",
            ASK_VET,
        ),
    )


def _refused(feeds: Sequence[FeedGiven]) -> Iterator[Finding]:
    offered = [feed for feed in feeds if feed.response is not None and feed.purpose is not Purpose.WEANING]
    run = 0
    while run < len(offered) and offered[-1 - run].response is Response.REFUSED:
        run += 1
    if run >= REFUSED_RUNNING and offered[-1] is feeds[-1]:
        yield finding_of(
            "refusing_feeds",
            Severity.ACT_TODAY,
            since=offered[-run].at,
            text=f"It refused {run} feeds one after the other.",
            evidence={"refused": run},
            sources=("HRB p.617", "COMMON practice"),
            actions=(
                "Never force a feed. Check its warmth, its crop, and how warm the food is.",
                "Weigh it before the first feed tomorrow.",
                f"{ASK_VET} A small or young bird does not wait until tomorrow.",
            ),
        )
