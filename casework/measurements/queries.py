"""Which value of a method stands for a file as it is understood today?"""

from decimal import Decimal

from casework.measure.integrity import METHOD
from orders.canonical import digest_of

INTEGRITY, _blank, INTEGRITY_VERSION = METHOD.partition(" ")


def input_digest(sha256, unit_factor):
    """The digest of what a method read of one file: its bytes, and its unit."""
    return digest_of({"files": [sha256], "unit_factor": unit_factor})


def integrity_of(evidence):
    """The integrity values of a file in its settled unit; None where it has none yet."""
    if not evidence.unit_factor:
        return None
    row = evidence.case.measurements.filter(
        method=INTEGRITY,
        method_version=INTEGRITY_VERSION,
        input_digest=input_digest(evidence.sha256, evidence.unit_factor),
    ).first()
    return row.values if row else None


def as_facts(values):
    """Measured values with Decimals for floats, so that they can be hashed."""
    if isinstance(values, dict):
        return {key: as_facts(value) for key, value in values.items()}
    if isinstance(values, list):
        return [as_facts(value) for value in values]
    return Decimal(repr(values)) if isinstance(values, float) else values
