"""Errors that computation and species knowledge raise; every one says what was wrong and what would do."""


class DomainError(ValueError):
    """A value outside what a rule can answer for.

    Parameters
    ----------
    detail
        What was wrong, for a reader.
    field
        JSON pointer of the input at fault, where one is known (``/mass_g``).
    code
        Stable word for programs.
    remedy
        What would do instead.
    """

    def __init__(self, detail: str, *, field: str = "", code: str = "refused", remedy: str = "") -> None:
        super().__init__(detail)
        self.detail = detail
        self.field = field
        self.code = code
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.detail} {self.remedy}".strip()


class ConflictError(DomainError):
    """A value that could be answered for, were it not for what is stored already."""
