"""Does a bite scan tell whether the jaws lie as it shows them?"""

from functools import cache

import numpy as np

from casework.demo.meshes import bite_scan, lower_arch, upper_arch
from casework.measure.bite_scans import bite_scan_agreement

JAWS = ("lower jaw", "upper jaw")


@cache
def scans():
    bite = bite_scan(3, (), span=("43", "47"), triangles=16_000, noise_um=10)
    lower = lower_arch(3, (), span=("43", "47"), triangles=24_000, noise_um=10)
    upper = upper_arch(3, (), span=("13", "17"), triangles=24_000, noise_um=10)
    return [(one.vertices, one.faces) for one in (bite, lower, upper)]


def rows_with(shift):
    bite, lower, upper = scans()
    jaws = dict(zip(JAWS, (lower, (upper[0] + shift, upper[1])), strict=True))
    rows = bite_scan_agreement(*bite, jaws)
    return {(row.quantity, row.subject): row for row in rows}


def test_jaws_in_the_bite_of_the_scan_agree_with_it():
    rows = rows_with(np.zeros(3))

    for jaw in JAWS:
        assert rows["bite_scan_distance", jaw].value < 0.05
        assert rows["bite_scan_shift", jaw].value < 0.03


def test_a_jaw_that_was_moved_is_told_with_its_shift():
    moved = np.array([0.1, -0.15, 0.3])

    rows = rows_with(moved)

    assert rows["bite_scan_shift", "lower jaw"].value < 0.03
    upper = rows["bite_scan_shift", "upper jaw"]
    np.testing.assert_allclose(upper.details["shift_mm"], moved, atol=0.04)
    assert rows["bite_scan_distance", "upper jaw"].value > 0.1


def test_a_jaw_that_the_bite_scan_does_not_show_is_not_known():
    rows = rows_with(np.array([0, 0, 80.0]))

    for quantity in ("bite_scan_distance", "bite_scan_shift"):
        row = rows[quantity, "upper jaw"]
        assert row.value is None
        assert "next to nothing" in row.because


def test_an_empty_bite_scan_is_not_measured():
    lower = scans()[1]
    rows = bite_scan_agreement(np.empty((0, 3)), np.empty((0, 3), int), {"lower jaw": lower})

    assert [row.value for row in rows] == [None, None]
