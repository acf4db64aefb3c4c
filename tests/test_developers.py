"""The guide for contributors names what is there."""

import re
from pathlib import Path

CHECKOUT = Path(__file__).parents[1]
GUIDE = (CHECKOUT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_module_of_the_mathematics_has_its_subject():
    table = GUIDE.partition("## The mathematics by subject")[2].partition("##")[0]
    modules = {path.stem for path in (CHECKOUT / "service" / "threenorths_service" / "navmath").rglob("*.py")}
    assert set(re.findall(r"`(\w+)`", table)) == modules - {"__init__"}


def test_every_path_that_the_guide_names_exists():
    folders = "navmath|operations|batch|api|command_line|tests|deploy|openapi|service|client"
    named = re.findall(rf"`((?:{folders})/[\w./]*)`", GUIDE)
    homes = [CHECKOUT, CHECKOUT / "service" / "threenorths_service", CHECKOUT / "client" / "threenorths"]
    missing = [path for path in named if not any((home / path).exists() for home in homes)]
    assert missing == []
