"""What does a page of surfaces hold, and how does a case come to a second version?"""

import json
import re
from dataclasses import replace
from datetime import timedelta

import trimesh

from casework.demo.meshes.writing import write_stl
from casework.evidence.keeping import opened
from casework.findings import measuring
from casework.handoffs.services import make_move
from casework.previews.glb import vertices_of
from casework.previews.queries import preview_of

SHIFT_MM = 0.12


def scene_of(response):
    """The scene of a page, as its script reads it."""
    found = re.search(
        r'<script id="look-scene" type="application/json">(.*?)</script>',
        response.content.decode(),
        re.DOTALL,
    )
    return json.loads(found[1])


def corners(file):
    """The corners (m, 3) in mm of a file's preview."""
    with opened(preview_of(file).storage_key) as stored:
        return vertices_of(stored.read())


def moved_after_return(story, folder):
    """The same story once its crown was returned, and came again moved along x."""
    make_move(
        story.case,
        name="ask_for_changes",
        by=story.who("dentist"),
        reason="More room toward the neighbour.",
        at=story.at(6) + timedelta(hours=1),
    )
    story.case.refresh_from_db()
    (part,) = story.files.parts
    mesh = trimesh.load(part.path, process=False)
    path = folder / "crown.stl"
    write_stl(path, mesh.vertices + [SHIFT_MM, 0, 0], mesh.faces)
    story.files = replace(story.files, parts=[replace(part, path=path)])
    story.design()
    measuring.measure_missing(story.case)
    return story
