"""What is installed is whole: public names, type marks, and every file that the service reads at run time."""

from __future__ import annotations

import importlib
import pkgutil
import zipfile
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder

import threenorths
import threenorths_service

CHECKOUT = Path(__file__).parents[1]
#: What is run, not imported from, and so has no public names.
RUN = {"threenorths_service.__main__"}
MODULES = sorted(
    module.name
    for package in (threenorths, threenorths_service)
    for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}.")
    if module.name not in RUN and not module.ispkg
)


@pytest.mark.parametrize("name", ["threenorths", "threenorths_service", "threenorths_service.api", *MODULES])
def test_a_module_s_public_names_are_there_and_in_order(name):
    module = importlib.import_module(name)
    assert list(module.__all__), name
    assert len(set(module.__all__)) == len(module.__all__)
    for public in module.__all__:
        assert hasattr(module, public), public


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    (path,) = WheelBuilder(str(CHECKOUT)).build(
        directory=str(tmp_path_factory.mktemp("wheel")), versions=["standard"]
    )
    with zipfile.ZipFile(path) as archive:
        yield set(archive.namelist())


def test_the_wheel_holds_every_file_of_both_packages(wheel):
    for home in (CHECKOUT / "service", CHECKOUT / "client"):
        for path in home.rglob("*"):
            if path.is_file() and "__pycache__" not in path.parts and not path.name.endswith(".pyc"):
                assert path.relative_to(home).as_posix() in wheel


@pytest.mark.parametrize(
    "path",
    [
        "threenorths/py.typed",
        "threenorths_service/py.typed",
        "threenorths_service/navmath/data/WMM2025.COF",
        "threenorths_service/api/templates/problem.html",
        "threenorths_service/api/static/documentation.html",
        "threenorths_service/api/static/swagger-ui/LICENSE",
    ],
)
def test_the_wheel_holds_what_is_read_at_run_time(wheel, path):
    assert path in wheel


def test_the_wheel_holds_nothing_but_the_two_packages_and_its_papers(wheel):
    assert {name.split("/")[0] for name in wheel if not name.split("/")[0].endswith(".dist-info")} == {
        "threenorths",
        "threenorths_service",
    }
