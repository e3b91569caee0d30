"""What to know about a mix before a bird gets it."""

import math
from collections.abc import Iterator, Sequence

from api.plans.rules import mixing
from api.plans.rules.batches import LEAST_BATCH_ML, pots
from api.plans.rules.mix import MixBatch, MixOrder, MixRequest
from api.plans.rules.mix_limits import HIGH_C, LOW_C, NEVER_ABOVE_C, low_c
from api.plans.rules.mix_steps import SHORT_WINDOW_MIN
from api.web.rules.cautions import ACT_TODAY_WITHIN_H, Caution, Severity

#: Starch begins to gel (energetics-and-mixing.md section 3.1, from memory: the cautious end of 60 to 70).
GELS_FROM_C = 60.0
#: Below this only the first days, a recovery feed or nectar (R&G86); above it food is likely to dehydrate.
THIN_BELOW = 0.20
THICK_ABOVE = 0.32


def cautions(request: MixRequest, batches: Sequence[MixBatch]) -> tuple[Caution, ...]:
    """Gather the cautions of a mix, the most pressing first.

    Parameters
    ----------
    request
        What was asked for and what was assumed.
    batches
        What came out.
    """
    found = [*_of_heat(request, batches), *_of_food(request, batches), *_of_amounts(request, batches)]
    found += [*_of_hygiene(request, batches), *_always()]
    order = [Severity.URGENT, Severity.ACT_TODAY, Severity.NOTE]
    return tuple(sorted(found, key=lambda caution: order.index(caution.severity)))


def _note(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.NOTE, text=text, sources=sources)


def _today(code: str, text: str, *sources: str) -> Caution:
    return Caution(code=code, severity=Severity.ACT_TODAY, act_within_h=ACT_TODAY_WITHIN_H, text=text, sources=sources)


def _of_food(request: MixRequest, batches: Sequence[MixBatch]) -> Iterator[Caution]:
    shares = {portion.dry_matter_fraction for portion in request.portions}
    thin = [share for share in shares if share < THIN_BELOW]
    thick = [share for share in shares if share > THICK_ABOVE]
    if thin:
        yield _today(
            "too_dilute",
            f"{100.0 * min(thin):.3g} % dry matter is for the first days, a recovery feed or nectar only. After "
            "day 4 a chick starves on it with a full crop.",
            "R&G86 abstract",
        )
    if thick:
        yield _today(
            "too_thick",
            f"{100.0 * max(thick):.3g} % dry matter is thicker than most stages take; it can dehydrate a chick and "
            "stop a crop.",
            "COMMON guard rail",
        )
    share, sold = batches[0].dry_matter_fraction, request.powder_dry_matter_fraction
    yield _note(
        "dry_matter_basis",
        f"{share:.3g} is dry matter of the mix, not powder: the powder itself holds {sold:.3g}, so 100 g of mix take "
        f"{100.0 * share / sold:.1f} g of powder. {100.0 * share:.3g} g would give only {100.0 * share * sold:.1f} %.",
    )
    if any(assumption.field == "/formula/composition" for assumption in request.assumed):
        yield _note(
            "composition_assumed",
            "The composition of the powder was not given; a usual one stands in for it. That can move the mix by about "
            "0.2 °C and 1 % of volume. Give the figures on the bag.",
            "MIXNOTE powder X",
            "CHO86 Table 1",
        )


def _of_heat(request: MixRequest, batches: Sequence[MixBatch]) -> Iterator[Caution]:
    yield _note(
        "measure_in_syringe",
        "Reckoned is not measured. Take the temperature in the syringe before every feed: give at "
        f"{low_c(request.target_c):g} to {HIGH_C:g} °C, wait up to {NEVER_ABOVE_C:g} °C, above that never: the crop "
        "burns. No microwave: it leaves hot spots.",
        "TUBE feeding band",
        "RIV08 crop burn",
        "HRB pp.100, 189, 209",
    )
    if request.order is MixOrder.PASTE_FIRST:
        yield _today(
            "paste_lumps",
            "Powder in near-boiling water gels, and a lump stays scalding long after the rest has cooled. Crush every "
            "lump, stir again after standing, and measure twice. Blending the waters first is safer.",
            "COMMON practice",
        )
    elif max(batch.blend_c for batch in batches) >= GELS_FROM_C:
        yield _today(
            "blend_gels",
            f"The water has to be {max(batch.blend_c for batch in batches):.0f} °C before the powder goes in, to make "
            "up for a cold pot; starch gels from about 60 °C. Warm the pot first.",
            "COMMON practice",
        )
    if any(batch.final_c < LOW_C for batch in batches):
        yield _today(
            "too_cool",
            f"The mix lands below {LOW_C:g} °C. Most chicks refuse it and their crops slow down; only some water birds "
            "take it so cool.",
            "HRB pp.190, 209",
        )
    windows = [batch.minutes_above_low_c for batch in batches if batch.minutes_above_low_c is not None]
    if windows and 0.0 < min(windows) < SHORT_WINDOW_MIN:
        yield _note(
            "cools_fast",
            f"Uncovered, the first batch to cool is below {low_c(request.target_c):g} °C {min(windows):.0f} min after "
            "it was mixed, standing included. Cover it and set the pot and the filled syringes in a water bath of at "
            f"most {HIGH_C:g} °C.",
            "MIXNOTE section 3.6",
        )


def _of_amounts(request: MixRequest, batches: Sequence[MixBatch]) -> Iterator[Caution]:
    servings = [serving for pot in pots(request.portions, request.thin_in_steps) for serving in pot.servings]
    if any(serving.needed_ml * (1.0 + request.spare_fraction) < LEAST_BATCH_ML for serving in servings):
        yield _note(
            "made_larger",
            f"Less than {LEAST_BATCH_ML:g} mL can neither be weighed nor kept warm; such a batch was made up to that. "
            "Throw the rest away.",
            "COMMON practice",
        )
    small = [batch for batch in batches if batch.mass_g < mixing.FINE_BATCH_G]
    if small:
        times = math.ceil(mixing.FINE_BATCH_G / min(batch.mass_g for batch in small))
        yield _note(
            "needs_fine_scale",
            "A batch below 20 g is given to 0.01 g. With a kitchen scale take every amount of it "
            f"{times} times and throw the rest away.",
            "COMMON practice",
        )
    if request.scoop_g is not None:
        yield _note(
            "scoops_are_rough",
            "Scoops differ by up to a quarter with how the powder has settled and who levels them. Weigh the powder; "
            "weigh ten scoops again whenever a new bag is opened.",
            "MIXNOTE section 3.5",
        )


def _of_hygiene(request: MixRequest, batches: Sequence[MixBatch]) -> Iterator[Caution]:
    yield _note(
        "discard_leftovers",
        f"Throw away what is left after {mixing.keep_at_most_min()} minutes, and what came back in a syringe at once. "
        "Never warm it again and never keep it in the refrigerator for the next round.",
        "HRB p.446",
    )
    yield _note(
        "never_draw_twice",
        "A syringe that was in a mouth does not go back into the pot: fill one for each bird, or pour off each bird's "
        "share first.",
        "HRB pp.284, 596, 616",
    )
    if len({batch.group for batch in batches}) > 1:
        yield _note(
            "groups_apart",
            "Own pot, spoon and syringes for each group; clean hands or fresh gloves between them. Healthy youngest "
            "first, then new arrivals, then the sick.",
            "HRB pp.284, 596, 616",
        )
    if any(batch.thinning for batch in batches):
        yield _note(
            "thickest_first",
            "Thinning serves the thickest food first, which is seldom the youngest bird's. If any bird of the group "
            "may be ill, mix separate batches and feed the youngest healthy one first.",
            "COMMON practice",
        )


def _always() -> Iterator[Caution]:
    yield _note(
        "ask_a_vet",
        "A bird that is cold, weak, hurt or does not swallow gets no food: warm it and call a licensed avian vet. What "
        "stands here replaces neither a vet nor local law on keeping wild birds.",
    )
