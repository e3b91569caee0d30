"""Reads the built-in data files as plain TOML, so that a check of their figures imports nothing of ours."""

import csv
import math
import tomllib
from pathlib import Path

import numpy as np

from tests.reference_data import needs_reference

BUILTIN = Path(__file__).resolve().parents[2] / "species" / "builtin"
SPARROW = "passeriformes/passer-domesticus"
SWIFT = "apodiformes/apus-apus"
OWL = "strigiformes/tyto-alba"
KESTREL = "falconiformes/falco-sparverius"
HERON = "pelecaniformes/ardea-herodias"
GULL = "charadriiformes/larus-argentatus"
MALLARD = "anseriformes/anas-platyrhynchos"
WILD = (SPARROW, SWIFT, OWL, KESTREL, HERON, GULL, MALLARD)

KJ_PER_KCAL = 4.184  # exact, UCUM 2.2 cal_th


def document(name):
    return tomllib.loads((BUILTIN / f"{name}.toml").read_text("utf-8"))


def food(key):
    [found] = [food for food in document("foods")["food"] if food["key"] == key]
    return found


def stage_on(name, day):
    """The one stage whose ages hold the day."""
    [stage] = [
        stage
        for stage in document(name)["stages"]
        if stage["ages"]["from_day"] <= day < stage["ages"].get("to_day", math.inf)
    ]
    return stage


def ends(band):
    return band["low"], band["high"]


def curve_g(name, day):
    """The three growth equations, written out once more (growth notes section 1, RIC67)."""
    curve = document(name)["growth_curve"]
    a, k, t = (curve[field]["value"] for field in ("asymptote_g", "rate_per_day", "inflection_days"))
    decay = np.exp(-k * (np.asarray(day, dtype=float) - t))
    return {
        "logistic": a / (1 + decay),
        "gompertz": a * np.exp(-decay),
        "bertalanffy": a * (1 - decay / 3) ** 3,
    }[curve["form"]]


def points(series_id):
    path = needs_reference("data", "amp_bird_growth_points.csv")
    with path.open(newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["series_id"] == str(series_id)]
    return np.array(sorted((float(row["age_d"]), float(row["mass_g"])) for row in rows)).T
