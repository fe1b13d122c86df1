"""Is every threshold the figure that its source gives, with unit and source?"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from casework.limits import LIMITS, NoSuchLimit, Sure, bytes_of, limit

# Figures with their publications, one row a threshold; the first line says how they were found.
TABLE = Path(__file__).parents[2] / "data" / "thresholds.csv"
with TABLE.open(encoding="utf-8", newline="") as lines:
    next(lines)
    PUBLISHED = {row["id"]: row for row in csv.DictReader(lines)}
UNITS = {
    "ISQ (1-100)": "ISQ",
    "N.cm": "N·cm",
    "deg": "°",
    "dE00": "ΔE00",
    "um": "µm",
    "fraction": "share",
}
STATUS = {
    "opened": Sure.READ,
    "memory": Sure.MEMORY,
    "practice": Sure.PRACTICE,
    "derived": Sure.OURS,
}
# The graver bound that the rule of some published rows names.
HARD = {"scan_body_fit_rms": "100", "virtual_interpenetration_ok": "100"}
# Split into several limits here: value and unit by hand from one row of the table.
SPLIT = {
    "follow_up_first": ("recheck_first", "low"),
    "follow_up_second": ("recheck_first", "high"),
    "recall_first": ("recall_interval", "low"),
    "recall_first_year": ("recall_interval", "high"),
    "recall_yearly": ("recall_interval", "high"),
}

# Written by hand: limits without a publication (value, low, high, hard, unit).
BY_HAND = {
    "implant_body_diameter": (None, "2.5", "7", None, "mm"),
    "implant_platform_diameter": (None, "2.5", "7", None, "mm"),
    "implant_length": (None, "4", "20", None, "mm"),
    "healing_abutment_height": (None, "1", "10", None, "mm"),
    "part_extent": (None, "4", "90", None, "mm"),
    "working_days_to_make": ("10", "5", "15", None, "days"),
    "upload_file_size": ("1", None, None, "1", "GiB"),
    "body_form_file_size": ("20", None, None, "20", "MiB"),
    "body_form_triangles": ("200000", None, None, "200000", "triangles"),
    "archive_unpacked_size": ("2", None, None, "2", "GiB"),
    "archive_members": ("200", None, None, "200", "files"),
    "archive_ratio": ("200", None, None, "200", "times"),
    "photo_size": ("100", None, None, "100", "megapixels"),
    "question_pictures": ("3", None, None, "3", "pictures"),
    "question_picture_file_size": ("10", None, None, "10", "MiB"),
    "question_picture_size": ("36", None, None, "36", "megapixels"),
    "scan_noise": ("30", None, None, None, "µm"),
    "scan_edge_near_body": ("0.25", None, None, None, "mm"),
    "scan_edge_to_find": ("0.5", None, None, None, "mm"),
    "region_shown": ("0.95", None, None, None, "share"),
    "implant_pose_doubt": ("50", None, None, None, "µm"),
    "stated_pose_shift": ("0.05", None, None, None, "mm"),
    "stated_pose_tilt": ("0.5", None, None, None, "°"),
    "frame_shift": ("0.05", None, None, None, "mm"),
    "frame_turn": ("0.1", None, None, None, "°"),
    "shared_teeth_residual": ("0.1", None, None, None, "mm"),
    "second_scan_distance": ("0.05", None, None, None, "mm"),
    "second_scan_angle": ("0.3", None, None, None, "°"),
    "change_near_scan_body": ("0.03", None, None, None, "mm"),
    "change_elsewhere": ("0.1", None, None, None, "mm"),
    "change_invented": ("1", None, None, None, "mm²"),
    "contact_balance": (None, "0.1", "0.9", None, "share"),
    "mouth_opening": ("40", "35", "50", None, "mm"),
    "room_height_screw": ("5", "4", "6", None, "mm"),
    "room_height_cement": ("7", "7", "8", None, "mm"),
    "room_width": ("5", "5", "7", None, "mm"),
    "path_undercut": ("10", None, None, None, "µm"),
    "driver_path_clearance": ("0.5", None, None, None, "mm"),
    "seat_reached": ("0.05", None, None, None, "mm"),
    "fit_interference": ("10", None, None, None, "µm"),
    "contact_gap": ("0.05", None, None, "1", "mm"),
    "contact_overlap": ("0.05", None, None, None, "mm"),
    "front_width_to_length": (None, "0.7", "0.9", None, "share"),
    "front_symmetry": ("0.5", None, None, None, "mm"),
    "midline_offset": ("2", "1", "2", None, "mm"),
    "made_part_deviation": ("0.05", None, None, None, "mm"),
}


def figure(text):
    return Decimal(text) if text else None


def test_every_limit_is_checked_against_something():
    assert set(LIMITS) == (set(LIMITS) & set(PUBLISHED)) | set(SPLIT) | set(BY_HAND)


@pytest.mark.parametrize("name", sorted(set(LIMITS) & set(PUBLISHED)))
def test_limit_is_the_published_figure(name):
    row, published = LIMITS[name], PUBLISHED[name]

    assert (row.value, row.low, row.high) == tuple(
        figure(published[column]) for column in ("default", "low", "high")
    )
    assert row.unit == UNITS.get(published["unit"], published["unit"])
    assert row.hard == figure(HARD.get(name))
    assert name not in HARD or f"> {HARD[name]}" in published["rule"]


@pytest.mark.parametrize("name", sorted(set(LIMITS) & set(PUBLISHED)))
def test_limit_claims_no_more_than_was_read(name):
    status = PUBLISHED[name]["status"].replace(";", " ").replace(":", " ")
    first = "memory" if "numbers memory" in status.replace("  ", " ") else status.split()[0]

    assert LIMITS[name].sure == STATUS[first]


@pytest.mark.parametrize("name", sorted(SPLIT))
def test_follow_up_is_the_published_figure(name):
    source, column = SPLIT[name]
    row, published = LIMITS[name], PUBLISHED[source]

    assert row.value == figure(published[column])
    assert (row.low, row.high) == (figure(published["low"]), figure(published["high"]))
    assert row.unit == published["unit"]


@pytest.mark.parametrize("name", sorted(BY_HAND))
def test_limit_without_a_publication_is_as_agreed(name):
    row = LIMITS[name]

    assert (row.value, row.low, row.high, row.hard) == tuple(
        figure(text) for text in BY_HAND[name][:4]
    )
    assert row.unit == BY_HAND[name][4]
    assert row.sure in (Sure.PRACTICE, Sure.OURS)


@pytest.mark.parametrize("row", LIMITS.values(), ids=lambda row: row.name)
def test_every_limit_has_unit_source_and_figure(row):
    assert row.unit
    assert row.title
    assert 0 < len(row.source) <= 200  # as wide as the column of a finding
    assert any(figure is not None for figure in (row.value, row.low, row.high))
    assert row.low is None or row.high is None or row.low <= row.high
    assert (row.sure == Sure.PRACTICE) == row.source.startswith("common practice, no source")


def test_a_limit_that_is_not_there_is_not_guessed():
    with pytest.raises(NoSuchLimit):
        limit("isq")


def test_sizes_are_given_in_bytes():
    assert bytes_of("upload_file_size") == 1_073_741_824
    assert bytes_of("archive_unpacked_size") == 2_147_483_648
    assert bytes_of("body_form_file_size") == 20_971_520
    with pytest.raises(ValueError, match="not in MiB or GiB"):
        bytes_of("archive_members")
