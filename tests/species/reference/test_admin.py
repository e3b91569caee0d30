"""The admin shows every value with its source, and writes nothing."""

import pytest
from django.urls import reverse

from species.models import PackEntry, ProfileRevision, SpeciesProfile

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(admin_client):
    def get(model: str, row) -> str:
        response = admin_client.get(reverse(f"admin:species_{model}_change", args=[row.pk]))
        assert response.status_code == 200
        return response.content.decode()

    return get


def test_values_with_their_sources(loaded, page):
    html = page("speciesprofile", SpeciesProfile.objects.get(key="fictus-psittacinus"))
    for shown in (
        "stages / naked / interval_min</td><td>60 to 150, usually 120</td><td>species</td><td>INV p.3",
        "has_crop</td><td>yes</td><td>species</td><td>INV p.1",
        "masses / adult_g</td><td>90</td><td>species</td><td>INV p.1; INV2 p.7",
        "rearing_energy / thermoneutral_share</td><td>0.8</td><td>inferred</td><td>1 - 0.2",
        "INV2 (tier D, not seen: from memory or through another source)",
        "21 values species; 15 values group; 5 values inferred",
    ):
        assert shown in html


def test_the_growth_curve_is_drawn_beside_its_values(loaded, page):
    drawn = page("speciesprofile", SpeciesProfile.objects.get(key="fictus-psittacinus"))
    assert drawn.count("data:image/svg+xml;base64,") == 2  # one for a phone
    none = page("speciesprofile", SpeciesProfile.objects.get(key="natans-inventus-domesticus"))
    assert "None is known." in none


def test_what_a_revision_changed(loaded, edit, page):
    from species.curation.services import pack_apply

    pack_apply(pack=edit("inventiformes/fictus-psittacinus.toml", "usual = 120", "usual = 110"))
    revisions = {row.number: row for row in ProfileRevision.objects.filter(profile__key="fictus-psittacinus")}
    assert "/stages/0/interval_min/usual</td><td>120.0</td><td>110.0" in page("profilerevision", revisions[2])
    assert "This is the first revision." in page("profilerevision", revisions[1])


@pytest.mark.parametrize("model", ["speciesprofile", "profilerevision", "loadedpack", "packentry"])
def test_lists_are_read_only(loaded, admin_client, model):
    assert admin_client.get(reverse(f"admin:species_{model}_changelist")).status_code == 200
    assert admin_client.get(reverse(f"admin:species_{model}_add")).status_code == 403


def test_nothing_is_deleted_here(loaded, admin_client):
    entry = PackEntry.objects.first()
    assert admin_client.post(reverse("admin:species_packentry_delete", args=[entry.pk])).status_code == 403
    assert PackEntry.objects.filter(pk=entry.pk).exists()


@pytest.mark.parametrize("query", ["parakeet", "Märchensittich", "fictus-psittacinus", "psitacinus"])
def test_search(loaded, admin_client, query):
    html = admin_client.get(reverse("admin:species_speciesprofile_changelist"), {"q": query}).content.decode()
    assert ">fictus-psittacinus<" in html
    assert ">natans-inventus-domesticus<" not in html
