"""Do few points stand evenly for many, in whatever rhythm these come?"""

import numpy as np
import pytest

from casework.measure.surfaces.thinning import evenly


@pytest.mark.parametrize("count,most", [(1000, 400), (12_345, 3000), (285_000, 4000)])
def test_about_so_many_are_taken_in_their_order(count, most):
    chosen = evenly(count, most)
    assert abs(len(chosen) - most) <= 2
    assert (np.diff(chosen) > 0).all() and chosen[-1] < count


@pytest.mark.parametrize("period", [2, 3, 7, 50, 64])
def test_every_phase_of_a_rhythm_keeps_its_share(period):
    chosen = evenly(64_000, 16_000)
    shares = np.bincount(chosen % period, minlength=period) / len(chosen)
    np.testing.assert_allclose(shares, 1 / period, rtol=0.06)


def test_few_are_all_taken():
    assert evenly(5, 9).tolist() == [0, 1, 2, 3, 4]
