"""Is what noise takes from a least distance given back, and nothing where there is none?"""

import numpy as np

from casework.measure.surfaces.gaps import Meeting, design_surface, scan_surface, without_noise
from casework.measure.surfaces.noise_bias import noise_bias
from tests.casework.measure.test_bite import dome
from tests.shapes import box


def biased(noise_mm, seed, radius=1000.0):
    plate = design_surface(*box(5, 5, 1, at=(-2.5, -2.5, -1.2)))
    scan = without_noise(scan_surface(*dome(radius, noise_mm, seed)))
    meeting = Meeting(plate, scan, 0.5)
    least = meeting.least()[0]
    return least, *noise_bias(meeting, least)


def test_over_a_flat_much_of_the_bias_is_given_back():
    # Plate and scan are parallel, 0.2 mm apart: every place may be the least by noise.
    found = np.array([biased(0.02, seed) for seed in range(6)])

    least, bias, spread = found.T
    assert (least < 0.195).all()
    assert (bias > 0).all()
    corrected = least + bias - 0.2
    assert np.abs(corrected).mean() < 0.65 * np.abs(least - 0.2).mean()
    assert (spread > 0).all() and (spread < 0.01).all()


def test_the_same_question_has_the_same_answer():
    assert biased(0.02, 1) == biased(0.02, 1)


def test_without_noise_there_is_no_bias():
    least, bias, spread = biased(0.0, 0)

    assert abs(least - 0.2) < 1e-9
    assert bias == spread == 0
