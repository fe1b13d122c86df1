"""What does a form start with where a record stands already?"""


def initial_of(record, form_class, **more):
    """The record's fields that the form has, and the revision that is seen."""
    names = form_class.base_fields
    held = {name: getattr(record, name) for name in names if hasattr(record, name)}
    return held | {"seen_revision": record.revision} | more
