"""Which build of the service answers: every computed answer names it."""

from importlib.metadata import version

BUILD = version("handrear")
