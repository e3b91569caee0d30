"""The halves of the weighed chicks are what they were when the first curve was fitted."""

import numpy as np
import pytest

from tests.validation.chicks import NEST_COLUMN, chicks, half_of


def test_a_nest_is_in_the_half_that_its_digest_says():
    # coreutils 9.1: printf 'chick_common_tern:N001' | sha256sum begins with 0d, of the other with 71; both odd.
    assert half_of("chick_common_tern", "N001") == "test"
    assert half_of("chick_tree_swallow_2017", "N001") == "test"
    # N003 of the terns: a2, N004: 82; both even.
    assert half_of("chick_common_tern", "N003") == half_of("chick_common_tern", "N004") == "fit"


@pytest.mark.parametrize("file", NEST_COLUMN)
def test_no_nest_is_in_both(file):
    fit, test = chicks(file, "fit"), chicks(file, "test")
    assert not set(fit.nests) & set(test.nests)
    assert set(fit.ids) | set(test.ids) == set(chicks(file).ids)
    assert min(len(fit.ids), len(test.ids)) > 0.3 * len(chicks(file).ids)


def test_the_weighings_are_those_of_the_file():
    # The first chick of the common terns: weighed on days 3, 4 and 5 with 27, 32 and 35 g (Nisbet 1975).
    terns = chicks("chick_common_tern")
    assert terns.ids[0] == "T001"
    assert terns.age_days[0, :3].tolist() == [3, 4, 5]
    assert terns.mass_g[0, :3].tolist() == [27, 32, 35]
    assert len(terns.ids) == 75
    assert np.all(np.diff(terns.age_days, axis=1)[terns.weighed[:, 1:]] > 0)
