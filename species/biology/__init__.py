"""Pure numerics of a growing bird and its food: no Django, no clock, no files.

Every function takes scalars or arrays (broadcast against each other) and gives a float or an array of the
same shape. A value outside the domain of an equation raises :class:`species.domain.errors.DomainError`,
whose ``field`` is the name of the argument; nothing is clamped.
"""
