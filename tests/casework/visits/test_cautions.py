"""Are the usual cautions told, and do they leave the decision to the clinician?"""

from casework.visits.cautions import CAUTIONS


def test_every_caution_defers_or_names_what_to_do():
    assert set(CAUTIONS) == {
        "small_parts",
        "torque",
        "cement",
        "integration",
        "hygiene",
        "radiation",
        "decides",
    }
    assert "local rules" in CAUTIONS["decides"]
