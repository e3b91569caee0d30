"""Wiring of the room."""

from django.apps import AppConfig


class SpeciesConfig(AppConfig):
    name = "species"
    label = "species"
    verbose_name = "Species reference"
