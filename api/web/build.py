"""Which build of the service answers: every computed answer names it."""

#: The version of pyproject.toml, which a checkout that was never installed cannot ask for.
BUILD = "0.1.0"
