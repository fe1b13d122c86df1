"""Is everything that is known of a scan body told as values, and what is not as such?"""

from dataclasses import replace

from casework.measure.scan_bodies.telling import QUANTITIES, Found, as_measured
from tests.casework.measure.scan_bodies.bodies import POSE

FOUND = Found(
    form="A", pose=POSE, residual_rms_um=20.0, noise_um=19.0, covered_share=0.6,
    top_covered_share=0.9, fits_share=0.97, point_count=2400, origin_95_um=6.0,
    axis_95_deg=0.07, rotation_95_deg=0.2, rotation_because="", height_because="",
    second_turn_gap=800.0, second_turn_deg=15.0, problem="",
)  # fmt: skip


def rows(found):
    return {row.quantity: row for row in as_measured(found, "45")}


def test_every_quantity_of_a_body_is_told_at_its_platform():
    told = rows(FOUND)
    assert set(told) == {one.name for one in QUANTITIES} - {"scan_bodies_found"}
    assert {row.place_mm for row in told.values()} == {tuple(POSE.origin_mm)}
    assert told["scan_body_origin"].value == 6.0 and told["scan_body_origin"].unit == "µm"
    assert told["scan_body_rotation"].value == 0.2


def test_an_open_height_and_turn_are_not_known():
    because = "Neither the top nor a ledge of the scan body is in the scan."
    told = rows(
        replace(FOUND, height_because=because, rotation_because="The form is round.",
                rotation_95_deg=None)
    )  # fmt: skip
    assert told["scan_body_origin"].value is None
    assert told["scan_body_origin"].because == because
    assert told["scan_body_origin"].details["toward"] is None
    assert told["scan_body_rotation"].value is None
