"""Which guides has a party, and how was the shade of an order noted?"""

from orders.shades.models import ShadeGuide, ShadeNote


def guides_of(party):
    """The party's own guides, by name."""
    return ShadeGuide.objects.filter(owner=party).order_by("name")


def shade_of(order):
    """The shade note of the order, or None."""
    return ShadeNote.objects.filter(order=order).select_related("guide").first()


def last_shade_of(practice):
    """The newest shade note of a practice: its guide and light are usually taken again."""
    return (
        ShadeNote.objects.filter(order__practice=practice)
        .select_related("guide")
        .order_by("-changed_at", "-pk")
        .first()
    )
