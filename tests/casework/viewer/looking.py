"""What does a page of surfaces hold, read as its script reads it?"""

import json
import re

from casework.evidence.keeping import opened
from casework.previews.glb import vertices_of
from casework.previews.queries import preview_of


def scene_of(response):
    found = re.search(
        r'<script id="look-scene" type="application/json">(.*?)</script>',
        response.content.decode(),
        re.DOTALL,
    )
    return json.loads(found[1])


def corners(file):
    with opened(preview_of(file).storage_key) as stored:
        return vertices_of(stored.read())
