"""The pack we ship: species profiles by order of birds, with their foods, powders and sources."""

from importlib.resources import files
from importlib.resources.abc import Traversable


def folder() -> Traversable:
    """The folder of the built-in pack."""
    return files(__name__)
