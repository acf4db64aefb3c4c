"""Checks through the client and on the command line."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

import threenorths
from threenorths import Client, LatLon
from threenorths.command_line import main

#: An invented hut.
HUT = "33V VK 12345 67890"


def test_a_position_is_checked(client: Client) -> None:
    checked = client.checks.check("33V VK 1325 6789", HUT, 100, digits=4)
    assert (checked.verdict, checked.slip, checked.precision_met) == ("wrong", "digits_transposed", True)
    assert checked.distance_m == pytest.approx(910, abs=1)
    assert checked.slips[0].without_slip == "MGRS 33VVK12356789"
    assert checked.expected is not None
    # A place out of an answer is a position again.
    assert client.checks.check(checked.expected, HUT, 1).verdict == "right"


def test_a_position_is_checked_against_an_area(client: Client) -> None:
    around = ["33V VK 10 65", "33V VK 16 65", LatLon(62.86, 13.36), "33V VK 10 70"]
    assert client.checks.check(HUT, area=around).within_area is True
    polygon = {"type": "Polygon", "coordinates": [[[13, 62], [14, 62], [14, 62.5], [13, 62]]]}
    outside = client.checks.check(HUT, area=polygon)
    assert (outside.verdict, outside.within_area) == ("wrong", False)


def test_a_report_that_cannot_be_read_raises_nothing(client: Client) -> None:
    checked = client.checks.check("beyond the second gate", HUT, 100)
    assert (checked.verdict, checked.fault, checked.reported) == ("unreadable", "unreadable_position", None)
    with pytest.raises(threenorths.NoAnswerError) as caught:
        client.checks.check(HUT, "beyond the second gate", 100)
    assert caught.value.code == "unreadable_position"


def test_a_bearing_is_checked(client: Client) -> None:
    checked = client.checks.check(
        reported_bearing=258, expected_bearing=78, north="magnetic", tolerance_deg=3, working=True
    )
    assert (checked.verdict, checked.difference_deg, checked.slip) == ("wrong", 180, "back_bearing")
    assert checked.slips[0].difference_deg == 0
    assert checked.working


def test_a_bearing_of_nought_is_sent(client: Client) -> None:
    checked = client.checks.check(reported_bearing=0, expected_bearing=0, north="grid", tolerance_deg=0)
    assert checked.verdict == "right"


def run(service_url: str, *arguments: str) -> str:
    done = CliRunner().invoke(main, ["checks", *arguments, "--url", service_url])
    assert done.exit_code == 0, done.output
    return done.output


def test_a_check_in_words(service_url: str) -> None:
    page = run(service_url, "--reported", "33V VK 1325 6789", "--expected", HUT, "--tolerance-m", "100")
    assert "wrong" in page
    assert "910 m at 88.2 degrees true" in page
    assert "Two neighbouring digits stand in each other's place." in page
    page = run(
        service_url,
        "--reported-bearing",
        "258",
        "--expected-bearing",
        "78",
        "--north",
        "grid",
        "--tolerance-deg",
        "3",
    )
    assert "+180.0 degrees, clockwise positive" in page
    assert "The bearing is that of the opposite direction" in page
    assert "cases of a hundred" in page


def test_an_area_comes_from_a_file(service_url: str, tmp_path: Path) -> None:
    polygon = {"type": "Polygon", "coordinates": [[[13, 62], [14, 62], [14, 62.5], [13, 62]]]}
    file = tmp_path / "area.json"
    file.write_text(json.dumps(polygon), encoding="utf-8")
    page = run(service_url, "--reported", HUT, "--area", str(file))
    assert "Off the area by" in page
    file.write_text("[", encoding="utf-8")
    done = CliRunner().invoke(main, ["checks", "--reported", HUT, "--area", str(file)])
    assert done.exit_code == 2
    assert "--area" in done.output
