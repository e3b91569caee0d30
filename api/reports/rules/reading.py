"""Who reads the network's reports."""

#: A report tells of every site, and a carer sees the own ones only.
NOT_FOR = frozenset({"carer"})


def reads_reports(role: str | None) -> bool:
    """Whether a member of this role, or an app without one, reads them."""
    return role not in NOT_FOR
