"""Do path, draft and taper stay within what the docs say, over a few seeds?"""

from casework.benchmark.accuracy.relations import rows

MOST = {"divergence": 1e-4, "path of insertion": 0.02, "least draft": 0.02, "undercut": 3.0,
        "total taper": 0.02}  # fmt: skip


def test_path_and_draft_are_within_two_hundredths_of_a_degree():
    for row in rows(3):
        assert row.worst < MOST[row.quantity], row
