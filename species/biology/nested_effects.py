"""Linear models with effects of an individual and of its nest: how much birds differ, and how much nests do.

The step that a fit of curves repeats (:mod:`species.biology.species_fit`); it knows nothing of growth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from species.biology.bounds import FloatArray
from species.biology.weighing_errors import WeighingErrors


@dataclass(frozen=True, slots=True)
class NestedEffects:
    """Means, and what is expected of each individual, under given standard deviations.

    Parameters
    ----------
    mean, mean_covariance
        (p,), (p, p) generalised least squares.
    expected
        (n, p) parameters of each individual: mean + its nest's effect + its own.
    log_likelihood
        Density of the responses with every constant; of the error contrasts where ``restricted``.
    """

    mean: FloatArray
    mean_covariance: FloatArray
    expected: FloatArray
    log_likelihood: float


def nested_effects(
    response: FloatArray,
    design: FloatArray,
    errors: WeighingErrors,
    nest: NDArray[np.int64],
    *,
    individual_sd: FloatArray,
    nest_sd: FloatArray,
    restricted: bool = False,
) -> NestedEffects:
    """Best linear unbiased prediction of n individuals in nests, y_i = X_i (mean + nest_j + own_i) + e_i.

    Parameters
    ----------
    response
        (n, m); what stands where the errors' weight is 0 is ignored.
    design
        (n, p, m) columns of X.
    errors
        Of the responses.
    nest
        (n,) number of each individual's nest, 0 to the number of nests less 1.
    individual_sd, nest_sd
        (p,) standard deviations of the effects, independent of one another; 0 for none.
    restricted
        Whether the likelihood is that of the error contrasts, which does not count the means as known.

    Notes
    -----
    Both levels are integrated out by the matrix determinant lemma on p x p matrices, so an effect of standard
    deviation 0 needs no case of its own. Laird & Ware 1982 (Biometrics 38:963), from memory.
    """
    count, columns = response.shape[0], design.shape[1]
    whitened = errors.whiten(np.concatenate([design, response[:, None, :]], axis=1))
    gram = whitened @ whitened.transpose(0, 2, 1)
    responses = int(np.count_nonzero(np.abs(errors.whiten(np.ones((count, 1, response.shape[1])))) > 0.0))
    log_determinant = float(errors.log_determinant().sum())

    own, of_bird = _without(gram, individual_sd)
    nests = np.zeros((int(nest.max()) + 1, columns + 1, columns + 1))
    np.add.at(nests, nest, own)
    free, of_nest = _without(nests, nest_sd)
    log_determinant += of_bird + of_nest

    total = free.sum(axis=0)
    information, moment = total[:columns, :columns], total[:columns, columns]
    mean = np.linalg.solve(information, moment)
    square_sum = float(total[columns, columns] - moment @ mean)
    log_likelihood = -0.5 * (responses * np.log(2.0 * np.pi) + log_determinant + square_sum)
    if restricted:
        log_likelihood += 0.5 * (columns * np.log(2.0 * np.pi) - np.linalg.slogdet(information)[1])

    of_nests = mean + _effect(nests, nest_sd, np.broadcast_to(mean, (nests.shape[0], columns)))
    expected = of_nests[nest] + _effect(gram, individual_sd, of_nests[nest])
    return NestedEffects(mean, np.linalg.inv(information), expected, float(log_likelihood))


def _without(gram: FloatArray, sd: FloatArray) -> tuple[FloatArray, float]:
    """Cross products (g, p + 1, p + 1) once effects of those sd are integrated out, and what that adds to ln det."""
    columns = sd.size
    scaled = gram[:, :columns, :] * sd[:, None]
    spread = np.eye(columns) + scaled[:, :, :columns] * sd
    left = gram - scaled.transpose(0, 2, 1) @ np.linalg.solve(spread, scaled)
    return np.asarray(left), float(np.linalg.slogdet(spread)[1].sum())


def _effect(gram: FloatArray, sd: FloatArray, about: FloatArray) -> FloatArray:
    """Expected effect (g, p) of each group about given means (g, p)."""
    columns = sd.size
    information, moment = gram[:, :columns, :columns], gram[:, :columns, columns]
    score = moment - np.einsum("gij,gj->gi", information, about)
    spread = np.eye(columns) + sd[:, None] * information * sd
    return np.asarray(sd * np.linalg.solve(spread, (sd * score)[:, :, None])[:, :, 0])
