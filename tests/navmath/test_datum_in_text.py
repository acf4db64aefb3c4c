"""Names of datums at the ends of texts. All texts are invented."""

import pytest

from threenorths_service.navmath.texts.datum_in_text import datum_in_text


@pytest.mark.parametrize(
    ("text", "name", "rest"),
    [
        ("62.9 N 13.2 E ED50", "ED50", "62.9 N 13.2 E"),
        ("62.9 N 13.2 E (ed 50)", "ed 50", "62.9 N 13.2 E"),
        ("NAD27: 62.9 N 13.2 E", "NAD27", "62.9 N 13.2 E"),
        ("Pulkovo 1942, 62.9 N 13.2 E", "Pulkovo 1942", "62.9 N 13.2 E"),
        ("62.9 N 13.2 E South American 1969", "South American 1969", "62.9 N 13.2 E"),
    ],
)
def test_a_name_at_an_end_is_found(text, name, rest):
    assert datum_in_text(text) == (name, rest)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "ED50",
        "62.9 N 13.2 E",
        "62.9 N ED50 13.2 E",
        "62.9 N 13.2 E WGS84",
        "WGS 84 62.9 13.2",
        "47.5 4230",
    ],
)
def test_a_text_without_one_has_none(text):
    assert datum_in_text(text) is None
