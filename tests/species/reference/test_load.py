"""Loading packs: twice is harmless, a change is a revision, what is gone is retired, a broken pack writes nothing."""

import shutil
from pathlib import Path

import msgspec
import pytest
from django.core.management import CommandError, call_command

from species.curation.services import Applied, Outcome, pack_apply
from species.domain.errors import DomainError
from species.models import FormerKey, LoadedPack, PackEntry, ProfileRevision, SpeciesProfile
from species.packs.check import check_pack
from species.selectors import RenamedSpecies, food_get, formula_get, profile_get, profile_list, revision_list

PACKS = Path(__file__).resolve().parents[3] / "fixtures" / "packs"
PARROT = "fictus-psittacinus"
PARROT_FILE = "inventiformes/fictus-psittacinus.toml"

pytestmark = pytest.mark.django_db


def test_what_was_loaded_is_what_the_files_say(loaded, good_pack):
    assert {applied.outcome for applied in loaded} == {Outcome.NEW}
    for profile in good_pack.profiles:
        assert profile_get(profile.key) == (profile, 1)
    for formula in good_pack.formulas:
        assert formula_get(formula.key) == formula
    for food in good_pack.foods:
        assert food_get(food.key) == food


def test_loading_twice_makes_no_revision(loaded, good_pack):
    again = pack_apply(pack=good_pack)
    assert {applied.outcome for applied in again} == {Outcome.UNCHANGED}
    assert ProfileRevision.objects.count() == len(good_pack.profiles)
    assert PackEntry.objects.count() == 4


def test_a_changed_value_is_a_new_revision_and_the_old_one_stays(loaded, good_pack, edit):
    before, _ = profile_get(PARROT)
    pack = edit(PARROT_FILE, "usual = 120", "usual = 110")
    applied = {one.key: one for one in pack_apply(pack=pack)}
    assert applied[PARROT] == Applied(PARROT, Outcome.CHANGED, 2, 1)
    assert applied["fictus-muscivorus"].outcome is Outcome.UNCHANGED
    assert profile_get(PARROT)[0].stages[0].interval_min.usual == 110
    assert profile_get(PARROT, 1) == (before, 1)
    newest, first = revision_list(PARROT)
    assert [(change.pointer, change.before, change.after) for change in newest.changes] == [
        ("/stages/0/interval_min/usual", 120, 110)
    ]
    assert newest.sources == ("INV",)
    assert first.changes == ()
    assert first.sources == ("INV", "INV2")


def test_a_value_gone_is_a_new_revision(loaded, edit):
    pack = edit(PARROT_FILE, 'longest_wait_h = { value = 24, reach = "group", sources = ["INV p.2"] }\n', "")
    pack_apply(pack=pack)
    profile, revision = profile_get(PARROT)
    assert (profile.longest_wait_h, revision) == (None, 2)


def test_a_profile_gone_is_retired_and_comes_back(loaded, good_pack):
    fewer = msgspec.structs.replace(good_pack, profiles=good_pack.profiles[1:])
    gone = good_pack.profiles[0]
    applied = pack_apply(pack=fewer)
    assert applied[-1] == Applied(gone.key, Outcome.RETIRED, 1)
    assert gone.key not in {listed.key for listed in profile_list()[1]}
    assert profile_get(gone.key) == (gone, 1), "birds that use it keep it"
    assert Outcome.RETIRED not in {one.outcome for one in pack_apply(pack=fewer)}, "told once"
    pack_apply(pack=good_pack)
    assert gone.key in {listed.key for listed in profile_list()[1]}
    assert ProfileRevision.objects.filter(profile__key=gone.key).count() == 1


def test_a_powder_gone_stays_for_old_revisions(loaded, good_pack):
    pack_apply(pack=msgspec.structs.replace(good_pack, formulas=(), profiles=()))
    assert formula_get("invented-powder").key == "invented-powder"
    with pytest.raises(DomainError) as raised:
        formula_get("moon-dust")
    assert raised.value.code == "unknown_formula"
    assert "none" in raised.value.remedy


def test_a_renamed_species_keeps_its_history(loaded, pack_copy, good_pack):
    old, new = PARROT, "fictus-novus"
    path = pack_copy / PARROT_FILE
    text = path.read_text().replace(old, new).replace("Fictus psittacinus", "Fictus novus")
    text = text.replace('former_keys = ["fictus-loquax"]', f'former_keys = ["fictus-loquax", "{old}"]')
    path.unlink()
    (path.parent / f"{new}.toml").write_text(text)
    pack_apply(pack=check_pack(pack_copy).pack)
    assert SpeciesProfile.objects.count() == 3
    assert [entry.revision for entry in revision_list(new)] == [2, 1]
    for former in (old, "fictus-loquax"):
        with pytest.raises(RenamedSpecies) as raised:
            profile_get(former)
        assert raised.value.new_key == new
    assert FormerKey.objects.count() == 2


def test_another_packs_species_is_refused_whole(loaded, good_pack):
    header = msgspec.structs.replace(good_pack.header, key="rival")
    with pytest.raises(DomainError) as raised:
        pack_apply(pack=msgspec.structs.replace(good_pack, header=header))
    assert raised.value.code == "species_taken"
    assert LoadedPack.objects.count() == 1


def test_a_retired_species_may_move_to_another_pack(loaded, good_pack):
    pack_apply(pack=msgspec.structs.replace(good_pack, profiles=()))
    header = msgspec.structs.replace(good_pack.header, key="rival")
    applied = pack_apply(pack=msgspec.structs.replace(good_pack, header=header))
    assert {one.outcome for one in applied} == {Outcome.UNCHANGED}
    assert profile_list()[0] == 3


class TestCommand:
    def test_progress_and_summary_then_nothing_new(self, pack_copy, capsys):
        call_command("packs_load", str(pack_copy))
        first = capsys.readouterr().out
        assert "  fictus-psittacinus: new, revision 1" in first
        assert "invented 1.0.0: 3 new." in first
        call_command("packs_load", str(pack_copy))
        second = capsys.readouterr().out
        assert "3 unchanged. Nothing had changed, so no revision was made." in second

    @pytest.mark.parametrize("broken", ["bad-unit", "duplicate-key", "wrong-contract", "not-utf-8", "nested-bomb"])
    def test_a_broken_pack_writes_nothing(self, loaded, broken, capsys):
        rows = list(SpeciesProfile.objects.values())
        with pytest.raises(CommandError) as raised:
            call_command("packs_load", str(PACKS / broken))
        assert raised.value.returncode == 1
        assert "the pack cannot be loaded" in capsys.readouterr().err
        assert list(SpeciesProfile.objects.values()) == rows

    def test_a_pack_that_fails_half_way_writes_nothing(self, loaded, pack_copy, capsys):
        """A species of another pack is met only after the first rows would have been written."""
        header = pack_copy / "pack.toml"
        header.write_text(header.read_text().replace('"invented"', '"rival"'))
        with pytest.raises(CommandError):
            call_command("packs_load", str(pack_copy))
        assert "has" in capsys.readouterr().err
        assert LoadedPack.objects.count() == 1

    def test_check_writes_nothing_and_counts_by_reach(self, pack_copy, capsys):
        call_command("packs_check", str(pack_copy))
        out = capsys.readouterr().out
        assert "invented 1.0.0: 3 profiles, 2 sources, 1 powder, 1 food; no errors, 0 notes." in out
        assert SpeciesProfile.objects.count() == 0
        shutil.rmtree(pack_copy)
        with pytest.raises(CommandError):
            call_command("packs_check", str(pack_copy))
