"""Is a written set read as it says, and a wrong one refused with a sentence for each fault?"""

import json
from pathlib import Path

import jsonschema
import pytest

from casework.exchange.measure_schemas import SET_SCHEMA
from casework.exchange.measure_set import FORMAT, SetRefused, read_set

FILE = {"path": "lower.stl", "role": "working_arch_scan_bodies"}


def written(**more):
    return {"format": FORMAT, "version": 1, "files": [FILE]} | more


def refusal(**more):
    with pytest.raises(SetRefused) as refused:
        read_set(written(**more), Path("/sets"))
    return " ".join(refused.value.sentences)


def test_a_set_is_read_as_it_is_written():
    document = written(
        unit="inch",
        opening_mm=38,
        retention="cement",
        files=[FILE, {"path": "b.ply", "name": "bridge", "role": "bridge", "unit": "mm",
                      "sites": ["45", "46", "47"], "material": "strong"}],
        sites=[{"site": "45", "scan_body": "one", "screw": "s", "near_mm": [1, 2, 3]}],
        units=[{"tooth": "46", "kind": "pontic"}],
        scan_bodies=[{"name": "one", "form": "flat", "diameter_mm": 4.5}],
        screws=[{"name": "s", "head_diameter_mm": 2.0}],
        materials=[{"name": "strong", "family": "zirconia"}],
        limits={"driver_radial_clearance": {"value": 0.15, "source": "instructions"}},
    )  # fmt: skip
    jsonschema.validate(document, SET_SCHEMA)

    told, paths = read_set(document, Path("/sets"))

    assert [(one.name, one.unit_factor) for one in told.files] == [
        ("lower.stl", 25.4), ("bridge", 1.0),
    ]  # fmt: skip
    assert paths["bridge"] == Path("/sets/b.ply")
    assert told.site("45").screw == {"head_diameter_mm": 2.0, "name": "s"}
    assert told.unit("46").kind == "pontic" and told.working_jaw == "lower"
    assert told.retention == "cement"
    assert told.opening_mm == 38.0 and told.limits["driver_radial_clearance"]["value"] == 0.15


@pytest.mark.parametrize(
    "more,says",
    [
        ({"version": 2}, "must say `format`"),
        ({"files": []}, "names no file"),
        ({"files": {}}, "`files` must be a list"),
        ({"colour": 1}, "`colour` is not known"),
        ({"retention": "glue"}, "must be one of screw, cement"),
        ({"files": [{"role": "bridge"}]}, "`path` is missing"),
        ({"files": [{"path": "a.stl"}]}, "`role` is missing"),
        ({"files": [{"path": "a.stl", "role": "hat"}]}, "`role` is “hat”"),
        ({"files": [FILE, FILE]}, "called “lower.stl” already"),
        ({"files": [FILE | {"unit": "furlong"}]}, "`unit` is “furlong”"),
        ({"files": [FILE | {"sites": [45]}]}, "ISO 3950 numbers as text"),
        ({"files": [FILE | {"transform": [[1]]}]}, "four rows of four numbers"),
        ({"files": [FILE | {"transform": [[2, 0, 0, 0], [0, 2, 0, 0], [0, 0, 2, 0],
                                          [0, 0, 0, 1]]}]}, "stretches or mirrors"),
        ({"files": [FILE | {"transform": [[-1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0],
                                          [0, 0, 0, 1]]}]}, "stretches or mirrors"),
        ({"files": [FILE | {"role": "raw_scan", "of": "x"}]}, "“x” is none"),
        ({"files": [FILE | {"material": "clay"}]}, "material “clay” is not listed"),
        ({"sites": [{"site": "99"}]}, "`site` must be an ISO 3950 number"),
        ({"sites": [{"site": "45"}, {"site": "45"}]}, "stands there twice"),
        ({"sites": [{"site": "45", "screw": "s"}]}, "screw “s” is not listed"),
        ({"sites": [{"site": "45", "near_mm": [1, 2]}]}, "`near_mm` must be three numbers"),
        ({"sites": [{"site": "45", "channel_axis": [0, 0, 0]}]}, "not all 0"),
        ({"sites": [{"site": "45", "stated_pose": {"axis": [0, 0, 1]}}]}, "`origin_mm`"),
        ({"screws": [{"name": "s", "length_mm": -1}]}, "`length_mm` must be a number above 0"),
        ({"units": [{"tooth": "45", "kind": "hat"}]}, "`kind` is “hat”"),
        ({"limits": {"toc": {"value": 5}}}, "where the value comes from"),
        ({"opening_mm": float("nan")}, "`opening_mm` must be a number above 0"),
    ],
)  # fmt: skip
def test_a_wrong_set_is_refused_in_a_sentence(more, says):
    assert says in refusal(**more)


def test_every_fault_is_said_at_once():
    said = refusal(colour=1, sites=[{"site": "99"}, {"site": "45", "driver": "d"}])
    assert "colour" in said and "Site 1" in said and "“d” is not listed" in said


@pytest.mark.parametrize("document", [None, [], "set", 3])
def test_what_is_no_object_is_refused(document):
    with pytest.raises(SetRefused):
        read_set(document, Path("/sets"))


def test_the_schemas_are_schemas():
    from casework.exchange.measure_schemas import RESULT_SCHEMA

    for schema in (SET_SCHEMA, RESULT_SCHEMA):
        jsonschema.Draft202012Validator.check_schema(schema)
        json.dumps(schema)
