"""Rules on what a species is called."""

import re
from collections.abc import Iterator

from species.domain.profile import Profile

#: Enough of BCP 47 for a language, a script and a region.
_LANGUAGE = re.compile(r"^[a-z]{2,3}(-[A-Z][a-z]{3})?(-[A-Z]{2})?$")
_BINOMIAL = re.compile(r"^[A-Z][a-z]+ [a-z-]+( [a-z-]+)?$")


def key_is_the_scientific_name(profile: Profile) -> Iterator[tuple[str, str]]:
    """The key is the binomial in lower case; a domestic form adds a third part."""
    if not _BINOMIAL.match(profile.scientific_name):
        yield "/scientific_name", "write genus and species, as in 'Columba livia'; no author, no year."
        return
    stem = profile.scientific_name.lower().replace(" ", "-")
    if profile.key != stem and not profile.key.startswith(f"{stem}-"):
        yield "/key", f"the key of {profile.scientific_name} is {stem}, a third part for a domestic form."


def has_a_name_in_words(profile: Profile) -> Iterator[tuple[str, str]]:
    """Every vernacular name is a name, with its BCP 47 language; best the English one first."""
    for index, name in enumerate(profile.vernacular_names):
        if not _LANGUAGE.match(name.language):
            yield (
                f"/vernacular_names/{index}/language",
                f"{name.language!r} is no language code; write 'en', 'de' or 'pt-BR'.",
            )
        if not name.name.strip():
            yield f"/vernacular_names/{index}/name", "the name is empty."


def former_keys_are_not_its_own(profile: Profile) -> Iterator[tuple[str, str]]:
    """A former key differs from the key of today."""
    if profile.key in profile.former_keys:
        yield "/former_keys", f"{profile.key} is its key today, so it is no former one."
