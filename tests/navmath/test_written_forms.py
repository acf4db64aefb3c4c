"""The table of written forms: every example reads as the table says."""

import pytest

from threenorths_service.navmath.errors import AmbiguousPositionError
from threenorths_service.navmath.places.expected import Expected
from threenorths_service.navmath.texts.position_text import read_position_text
from threenorths_service.navmath.texts.written_forms import WRITTEN_FORMS

EXAMPLES = [(form, example) for form in WRITTEN_FORMS for example in form.examples]


def readings_of(example):
    """What the example reads as, as the table writes it."""
    expected = None
    if example.near is not None:
        near = read_position_text(example.near)
        expected = Expected(near.lat_deg, near.lon_deg)
    try:
        return read_position_text(example.text, expected=expected).read_as
    except AmbiguousPositionError as error:
        return " or ".join(reading["read_as"] for reading in error.details["readings"])


@pytest.mark.parametrize(
    ("form", "example"), EXAMPLES, ids=[f"{form.name}: {example.text}" for form, example in EXAMPLES]
)
def test_every_example_reads_as_the_table_says(form, example):
    assert readings_of(example) == example.read_as


def test_every_form_has_a_name_of_its_own_a_rule_and_examples():
    assert len({form.name for form in WRITTEN_FORMS}) == len(WRITTEN_FORMS)
    assert len({(example.text, example.near) for _, example in EXAMPLES}) == len(EXAMPLES)
    for form in WRITTEN_FORMS:
        assert form.examples
        assert form.rule.endswith(".")
        assert form.rule.count("`") % 2 == 0
        assert all(example.read_as for example in form.examples)


def test_what_an_example_was_read_as_reads_as_the_same():
    for _, example in EXAMPLES:
        for read_as in example.read_as.split(" or "):
            assert read_position_text(read_as).read_as == read_as
