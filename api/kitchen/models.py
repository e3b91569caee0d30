"""What a network feeds with: its powders, and what stands in the kitchen of each site."""

from django.db import models

from api.tenancy.models import NetworkRecord


class Formula(NetworkRecord):
    """A powder as the network buys it, named by a key of its own; the catalogue's formulas are named by theirs."""

    KIND = "formula"
    TOLD = ("key", "name", "dry_matter_fraction", "energy_kj_per_g_dm", "bulk_density_g_per_ml", "composition", "note")

    key = models.SlugField(max_length=80)
    name = models.CharField(max_length=200)
    dry_matter_fraction = models.FloatField()
    energy_kj_per_g_dm = models.FloatField(null=True, blank=True)
    bulk_density_g_per_ml = models.FloatField(null=True, blank=True)
    #: Mass fractions of the powder as sold: water, protein, fat, carbohydrate, fibre, ash.
    composition = models.JSONField(null=True, blank=True)
    note = models.CharField(max_length=2000, blank=True)

    class Meta(NetworkRecord.Meta):
        ordering = ["name", "row"]
        constraints = [
            models.UniqueConstraint(fields=["network", "uid"], name="formula_id_once"),
            models.UniqueConstraint(
                fields=["network", "key"], condition=models.Q(gone_at__isnull=True), name="formula_key_once"
            ),
        ]
        verbose_name_plural = "formulas"

    def __str__(self) -> str:
        return self.name


class Kitchen(NetworkRecord):
    """What a site mixes with: its usual powder, its waters and its scoop. One for each site, from its first day."""

    KIND = "kitchen"
    TOLD = (
        "site_id",
        "formula_key",
        "hot_water_c",
        "cool_water_c",
        "powder_c",
        "room_c",
        "altitude_m",
        "vessel",
        "scoop_g",
    )

    site = models.OneToOneField("networks.Site", on_delete=models.PROTECT, related_name="kitchen")
    #: Of the network's own formulas or of the catalogue; the species' default where empty.
    formula_key = models.CharField(max_length=80, null=True, blank=True)  # noqa: DJ001 - null is "not told" everywhere
    hot_water_c = models.FloatField(null=True, blank=True)
    cool_water_c = models.FloatField(null=True, blank=True)
    powder_c = models.FloatField(null=True, blank=True)
    room_c = models.FloatField(null=True, blank=True)
    altitude_m = models.FloatField(null=True, blank=True)
    #: heat_capacity_j_per_k and temperature_c.
    vessel = models.JSONField(null=True, blank=True)
    scoop_g = models.FloatField(null=True, blank=True)

    class Meta(NetworkRecord.Meta):
        constraints = [models.UniqueConstraint(fields=["network", "uid"], name="kitchen_id_once")]

    def __str__(self) -> str:
        return f"kitchen of {self.site}"
