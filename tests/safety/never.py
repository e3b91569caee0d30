"""What must never come out of a plan. Each gives back what is wrong, or nothing."""

import re
from typing import Protocol

from api.plans.rules.plan import FEEDING, Decision, FeedingPlan
from api.plans.rules.request import PlanRequest
from species.domain.profile import Profile

#: A rounded figure may lie this far beyond its limit in binary floating point, and no further.
SPECK = 1e-9


class Case(Protocol):
    """Who, and what was asked."""

    @property
    def profile(self) -> Profile: ...
    @property
    def request(self) -> PlanRequest: ...


def texts(plan: FeedingPlan) -> str:
    """Every sentence of a plan that tells the carer something."""
    said = [c.text for c in plan.cautions]
    said += [f"{c.text} {c.if_not}" for c in plan.checks]
    said += [f"{s.text} {s.stop_when or ''}" for s in plan.first_steps]
    said += plan.brooder.advice if plan.brooder else ()
    said += plan.vet.reasons
    return "\n".join(said)


def food(case: Case, plan: FeedingPlan) -> str | None:
    return "food" if plan.feed is not None or plan.formula is not None or plan.timetable else None


def by_mouth(case: Case, plan: FeedingPlan) -> str | None:
    if any(s.fluid is not None or s.volume_ml is not None or s.route is not None for s in plan.first_steps):
        return "something by mouth"
    return food(case, plan)


def no_vet(case: Case, plan: FeedingPlan) -> str | None:
    if not plan.vet.needed:
        return "no vet"
    if plan.vet.within_h is None or plan.vet.within_h > 12 or not plan.vet.reasons:
        return "not the same day, or without a reason"
    return food(case, plan)


def endless_wait(case: Case, plan: FeedingPlan) -> str | None:
    if plan.decision is Decision.WAIT_FOR_CROP and plan.look_again_at is None:
        return "a wait without an end"
    return None


def unlooked_first_feed(case: Case, plan: FeedingPlan) -> str | None:
    wanted = {"body", "hydration"} | ({"crop"} if case.profile.has_crop.value else set())
    missing = wanted - {check.code for check in plan.checks}
    return f"no check of {sorted(missing)}" if missing else None


def _portion_g(plan: FeedingPlan) -> float:
    """Mass of one feed; a millilitre of slurry is reckoned as a gram, as the 10 % rule does (APN)."""
    assert plan.feed is not None
    return max(plan.feed.volume_ml or 0.0, plan.feed.mass_g or 0.0)


def large_first_feed(case: Case, plan: FeedingPlan) -> str | None:
    if plan.feed is None or case.request.mass_g is None:
        return None
    share = _portion_g(plan) / case.request.mass_g
    return f"{share:.3f} of mass in a first feed" if share > 0.08 + SPECK else None


def full_portion_without_mass(case: Case, plan: FeedingPlan) -> str | None:
    if plan.feed is None or case.request.mass_g is not None:
        return None
    if not plan.feed.provisional:
        return "a portion without a mass that is not provisional"
    if plan.feed.volume_ml is not None and plan.mass.low_g is not None:
        # No living hatchling weighs less than half of what it hatches with: common practice, no source.
        hatch = case.profile.masses.hatch_g
        cap = _cap_ml(case.profile, max(plan.mass.low_g, 0.5 * hatch.value if hatch else 0.0))
        if plan.feed.volume_ml > cap + SPECK:
            return f"{plan.feed.volume_ml} mL, above {cap} of the low end"
    return None


def younger_stage(case: Case, plan: FeedingPlan) -> str | None:
    age = plan.age.days
    stage = next(
        s for s in case.profile.stages if s.ages.from_day <= age and (s.ages.to_day is None or age < s.ages.to_day)
    )
    order = [s.key for s in case.profile.stages]
    if plan.stage is None or order.index(plan.stage.key) < order.index(stage.key):
        return f"stage {plan.stage} of a bird that belongs to {stage.key}"
    solids, warmth = stage.dry_matter_fraction, stage.brooder_c
    if plan.formula and solids and plan.formula.dry_matter_fraction < solids.low - SPECK:
        return "food of a younger stage"
    target = plan.brooder.target_c if plan.brooder else None
    if target is not None and warmth and target > warmth.high + SPECK:
        return "brooder of a younger stage"
    return None


def refeeding(case: Case, plan: FeedingPlan) -> str | None:
    if plan.feed is None:
        return None
    if case.request.mass_g is None:
        return "fed without a mass"
    share = _portion_g(plan) / case.request.mass_g
    if share > 0.03 + SPECK:
        return f"{share:.3f} of mass for an emaciated bird"
    return None if plan.vet.needed else "no vet for an emaciated bird"


def slurry(case: Case, plan: FeedingPlan) -> str | None:
    if plan.formula is not None or (plan.feed is not None and plan.feed.portion != "solid"):
        return "slurry"
    return None


def _cap_ml(profile: Profile, mass_g: float, *, grown: bool = False) -> float:
    """10 % of mass (APN, ZWE), 5 % in a grown bird (TUBE), or what the species' printed table says."""
    printed = [
        row.high_ml
        for row in profile.printed_volumes
        if row.from_g <= mass_g and (row.to_g is None or mass_g < row.to_g)
    ]
    return max([(0.05 if grown else 0.10) * mass_g, *printed])


def overfilled(case: Case, plan: FeedingPlan) -> str | None:
    if plan.feed is None or plan.feed.volume_ml is None or case.request.mass_g is None:
        return None
    grown = plan.age.low_days >= 365
    cap = _cap_ml(case.profile, case.request.mass_g, grown=grown)
    if max(plan.feed.volume_ml, plan.feed.high_ml or 0.0) > cap + SPECK:
        return f"{plan.feed.volume_ml} (up to {plan.feed.high_ml}) mL above {cap}"
    return None


def crop_rule(case: Case, plan: FeedingPlan) -> str | None:
    if case.profile.has_crop.value:
        return None
    if any(check.code == "crop" for check in plan.checks):
        return "a crop check"
    if plan.feed is not None and plan.feed.stop_when == "crop_rounded":
        return "a crop to be rounded"
    if any("crop" in entry.rule.rsplit(".", 1)[-1] for entry in plan.basis):
        return "a crop rule"
    return "a wait for a crop" if plan.decision is Decision.WAIT_FOR_CROP else None


def burning(case: Case, plan: FeedingPlan) -> str | None:
    warm = plan.temperature
    if warm is None:
        return None
    if plan.formula is not None and (warm.target_c is None or not 38 <= warm.target_c <= 41):
        return f"target {warm.target_c} for slurry"
    if (warm.target_c or 0) > 41 or (warm.never_above_c or 0) > 42 or (warm.high_c or 0) > 41:
        return f"{warm}"
    return None


def _thin_cockatiel(case: Case, plan: FeedingPlan) -> bool:
    """R&G86: 7 % to day 4, in a cockatiel whose hatching is known."""
    known = plan.age.basis != "estimated_from_mass"
    return case.profile.key == "nymphicus-hollandicus" and known and plan.age.days <= 4


def thin_plan(case: Case, plan: FeedingPlan) -> str | None:
    if plan.formula is None or case.profile.food_guild == "nectarivore" or _thin_cockatiel(case, plan):
        return None
    solids = plan.formula.dry_matter_fraction
    return f"{solids} solids planned" if solids < 0.20 - SPECK and plan.age.days > 4 else None


def seven_percent(case: Case, plan: FeedingPlan) -> str | None:
    if plan.formula is None or case.profile.food_guild == "nectarivore" or _thin_cockatiel(case, plan):
        return None
    solids = plan.formula.dry_matter_fraction
    return f"{solids} solids planned" if solids < 0.20 - SPECK else None


def tube_first(case: Case, plan: FeedingPlan) -> str | None:
    if plan.feed is None:
        return None
    if plan.feed.methods[:1] == ("tube",):
        return "tube first"
    if any(m.method == "tube" and m.skill == "untrained" for m in plan.feed.method_details):
        return "tube for untrained hands"
    return None


def needle(case: Case, plan: FeedingPlan) -> str | None:
    return "under the skin" if any(s.route == "subcutaneous" for s in plan.first_steps) else None


def rewarmed(case: Case, plan: FeedingPlan) -> str | None:
    if plan.formula is not None and not any(c.code == "discard_leftovers" for c in plan.cautions):
        return "not told to discard what is left"
    advice = re.search(r"(?i)(?<!never )(?<!not )\b(re-?warm|re-?heat)", texts(plan))
    return advice.group() if advice else None


_DOSE = re.compile(
    r"(?i)\d\s*(mg|mcg|µg|iu|units?)\b|antibiotic|meloxicam|enrofloxacin|nystatin|metronidazole|painkiller"
)


def drug(case: Case, plan: FeedingPlan) -> str | None:
    found = _DOSE.search(texts(plan))
    return found.group() if found else None


def silent_heat_source(case: Case, plan: FeedingPlan) -> str | None:
    if plan.brooder is None:
        return None if plan.decision not in FEEDING else "no brooder told"
    advice = " ".join(plan.brooder.advice)
    missing = [word for word in ("PTFE", "hot-water bottle", "thermometer") if word not in advice]
    return f"no word of {missing}" if missing else None


def lawless(case: Case, plan: FeedingPlan) -> str | None:
    said = sum(c.code == "law_and_licence" for c in plan.cautions)
    if said != 1:
        return f"law said {said} times"
    return "advice to keep it" if re.search(r"(?i)\bkeep (it|the bird) as\b|\bas a pet\b", texts(plan)) else None
