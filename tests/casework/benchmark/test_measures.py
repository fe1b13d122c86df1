"""Can every topic of the measures' benchmarks be asked for, and only those?"""

from importlib import import_module

import pytest

from casework.benchmark import accuracy, measuring
from casework.benchmark.measures import chosen, topics


@pytest.mark.parametrize("package, function", [(accuracy, "rows"), (measuring, "compare")])
def test_every_topic_answers(package, function):
    assert topics(package)
    for topic in topics(package):
        assert callable(getattr(import_module(f"{package.__name__}.{topic}"), function))


def test_an_unknown_topic_is_refused_by_name():
    with pytest.raises(ValueError, match="No topic colours; there are bite"):
        chosen(accuracy, ["bite", "colours"])
