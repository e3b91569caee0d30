"""What a reader is told when there is no such species."""

from collections.abc import Sequence

from species.domain.errors import DomainError


class UnknownSpecies(DomainError):  # noqa: N818 - named for what it says, as DomainError's other kinds are
    """No profile has this key. ``near`` holds the keys most like it, best first."""

    def __init__(self, key: str, near: Sequence[tuple[str, str]]) -> None:
        self.key = key
        self.near = tuple(near_key for near_key, _ in near)
        suggestions = " or ".join(f"{near_key} ({name})" for near_key, name in near)
        super().__init__(
            f"There is no species {key[:80]!r}.",
            field="/species",
            code="unknown_species",
            remedy=f"Did you mean {suggestions}?" if near else "GET /api/v1/species lists those there are.",
        )


class RenamedSpecies(DomainError):  # noqa: N818
    """The key is one that the species had before; ``new_key`` is the one of today."""

    def __init__(self, key: str, new_key: str) -> None:
        self.key = key
        self.new_key = new_key
        super().__init__(f"{key} has been renamed.", field="/species", code="renamed_species", remedy=f"Use {new_key}.")


class UnknownRevision(DomainError):  # noqa: N818
    """The species has no revision of this number."""

    def __init__(self, key: str, revision: int, latest: int) -> None:
        super().__init__(
            f"{key} has no revision {revision}.",
            field="/revision",
            code="unknown_revision",
            remedy=f"Its revisions are 1 to {latest}.",
        )
