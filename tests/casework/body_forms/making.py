"""Which scan bodies and which meshes of their forms do the tests put into a catalogue?"""

import io

from casework.body_forms.services import receive_form
from casework.evidence.incoming import incoming_from
from casework.measure.scan_bodies.forms import form_from_text
from orders.catalogue.models import Component
from tests.casework.evidence.making import binary_stl
from tests.shapes import cylinder

HEIGHT_MM, RADIUS_MM = 8.0, 2.25


def make_scan_body(party, **fields):
    """A scan body of the party's own without dimensions."""
    defaults = {
        "kind": "scan body",
        "part_number": "OWN-SB",
        "name": "Own scan body",
        "connection": "cone 4",
        "source": "invented",
    }
    return Component.objects.create(owner=party, **(defaults | fields))


def round_stl(height_mm=HEIGHT_MM):
    return binary_stl(cylinder(RADIUS_MM, height_mm))


def flat_stl(height_mm=HEIGHT_MM):
    """The scan body that the invented scans show: round, with one flat and a bevel."""
    form = form_from_text(
        f"diameter=4.5,height={height_mm},flat_depth=0.7,flat_from=3.6,bevel=0.4"
    )
    return binary_stl((form.vertices, form.faces))


def coming(data, name="own form.stl"):
    return incoming_from(io.BytesIO(data), name)


def put_mesh(component, *, by, data=None, name="own form.stl", unit="millimetre", **more):
    with coming(data or round_stl(), name) as incoming:
        return receive_form(component, by=by, incoming=incoming, unit=unit, **more)
