"""Do connectors stay within what the docs say, over a few seeds?"""

from casework.benchmark.accuracy.connectors import rows

MOST = {
    "smallest section": 0.1,  # percent; the facets take 0.03
    "height of the section": 1,
    "width of the section": 1,
    "place of the section": 1,
    "connectors not found": 0,
    "rounding of the embrasure": 30,
}


def test_sections_are_exact_and_in_the_order_of_the_units():
    found = rows(3)

    assert {row.quantity for row in found} == set(MOST)
    for row in found:
        assert row.worst <= MOST[row.quantity], row
