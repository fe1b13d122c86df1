"""What did a person type into a field: exactly what, or why can it not be used?"""

from orders.typed.cells import read_cell, read_table, safe_cell, write_table
from orders.typed.days import ORDERS, read_day, say_day
from orders.typed.identifiers import (
    check_digit,
    read_identifier,
    read_item_number,
    twin_of,
    warn_of_twin,
)
from orders.typed.kept import Code, Name, Text
from orders.typed.names import mentions_name
from orders.typed.numbers import read_number
from orders.typed.text import TypedUnreadable, clean_identifier, clean_text

__all__ = [
    "Code",
    "Name",
    "ORDERS",
    "Text",
    "TypedUnreadable",
    "check_digit",
    "clean_identifier",
    "clean_text",
    "mentions_name",
    "read_cell",
    "read_day",
    "read_identifier",
    "read_item_number",
    "read_number",
    "read_table",
    "safe_cell",
    "say_day",
    "twin_of",
    "warn_of_twin",
    "write_table",
]
