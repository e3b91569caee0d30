"""Checks a pack by what it says, after :mod:`species.packs.read` has checked its form.

Each rule is one small function: it takes a profile (or the whole reading) and yields what is wrong as
(JSON pointer, message). Its name is printed with the message and listed in docs/packs/format.md.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from importlib.resources.abc import Traversable

from species.domain.pack import Pack
from species.domain.profile import Profile
from species.packs.check import evidence, feeding, names, pack_wide, stages, values
from species.packs.check.pack_wide import Complaint
from species.packs.findings import Finding, Grade, errors_of
from species.packs.read import Reading, read_pack

ProfileRule = Callable[[Profile], Iterable[tuple[str, str]]]
PackRule = Callable[[Reading], Iterable[Complaint]]

PROFILE_RULES: tuple[ProfileRule, ...] = (
    names.key_is_the_scientific_name,
    names.has_a_name_in_words,
    names.former_keys_are_not_its_own,
    values.sources_or_equation,
    values.bands_are_in_order,
    values.numbers_are_in_their_domain,
    values.numbers_agree_with_each_other,
    stages.stages_cover_the_rearing,
    stages.cautions_hold_for_a_time,
    stages.young_have_a_brooder,
    stages.nothing_is_listed_twice,
    feeding.caps_are_safe,
    feeding.printed_volumes_are_a_table,
    feeding.food_is_not_too_hot,
    feeding.food_is_not_too_thin,
    feeding.tube_is_never_first,
    feeding.portions_fit_the_feeding_kind,
    feeding.fed_stages_say_how_often,
    evidence.evidence_is_earned,
)
PACK_RULES: tuple[PackRule, ...] = (
    pack_wide.files_are_named_after_their_species,
    pack_wide.keys_are_unique,
    pack_wide.references_exist,
    pack_wide.tables_are_sourced,
    pack_wide.compositions_add_up,
)
NOTING_RULES: tuple[PackRule, ...] = (pack_wide.sources_are_used,)


@dataclass(frozen=True)
class Checked:
    """A pack that went through everything: ``pack`` is None when any finding is an error."""

    pack: Pack | None
    findings: tuple[Finding, ...]


def check_reading(reading: Reading) -> Checked:
    """Apply every rule to what was read."""
    findings = list(reading.findings)
    for file, profile in reading.profiles.items():
        for rule in PROFILE_RULES:
            findings += (
                Finding(file=file, pointer=pointer, rule=rule.__name__, message=message)
                for pointer, message in rule(profile)
            )
    for grade, rules in ((Grade.ERROR, PACK_RULES), (Grade.NOTE, NOTING_RULES)):
        for pack_rule in rules:
            findings += (
                Finding(file=file, pointer=pointer, rule=pack_rule.__name__, message=message, grade=grade)
                for file, pointer, message in pack_rule(reading)
            )
    return Checked(pack=None if errors_of(findings) else reading.pack, findings=tuple(findings))


def check_pack(root: Traversable) -> Checked:
    """Read a pack's folder and apply every rule.

    Parameters
    ----------
    root
        The pack's folder: a path, or what ``importlib.resources.files`` gives.
    """
    return check_reading(read_pack(root))
