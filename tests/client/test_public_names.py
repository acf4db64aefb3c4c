"""What the package exports, and that it stands alone."""

import builtins
import importlib.metadata
import importlib.resources
import inspect
import subprocess
import sys

import pytest

import threenorths
from threenorths import errors


def test_all_names_what_is_there_and_nothing_else() -> None:
    public = {
        name
        for name, value in vars(threenorths).items()
        if not name.startswith("_") and not inspect.ismodule(value) and name != "version"
    }
    assert set(threenorths.__all__) - {"__version__"} == public
    assert threenorths.__all__ == sorted(threenorths.__all__)


def test_every_error_is_exported_and_of_the_one_tree() -> None:
    kinds = {
        name
        for name, value in vars(errors).items()
        if inspect.isclass(value) and issubclass(value, Exception)
    }
    assert kinds <= set(threenorths.__all__)
    assert all(issubclass(getattr(threenorths, name), threenorths.ThreeNorthsError) for name in kinds)
    assert all(name in errors.__doc__ for name in kinds)


def test_no_error_has_the_name_of_a_builtin() -> None:
    assert not [name for name in threenorths.__all__ if hasattr(builtins, name)]


def test_the_version_is_the_distributions() -> None:
    assert threenorths.__version__ == importlib.metadata.version("threenorths")


def test_the_package_says_that_it_is_typed() -> None:
    assert importlib.resources.files(threenorths).joinpath("py.typed").is_file()


@pytest.mark.parametrize(
    "module",
    [
        "numpy",
        "flask",
        "marshmallow",
        "pyproj",
        "threenorths_service",
        "orjson",
        "pyarrow",
        "pandas",
        "polars",
    ],
)
def test_the_client_needs_nothing_of_the_service(module: str) -> None:
    program = f"import sys; import threenorths.command_line; sys.exit({module!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], timeout=60).returncode == 0


@pytest.mark.parametrize(
    "name", [name for name in threenorths.__all__ if inspect.isclass(getattr(threenorths, name))]
)
def test_everything_public_is_documented(name: str) -> None:
    kind = getattr(threenorths, name)
    assert kind.__doc__
    assert not kind.__doc__.startswith(f"{name}(")  # what dataclass writes where nobody wrote anything
    for method, function in inspect.getmembers(kind, inspect.isfunction):
        assert method.startswith("_") or function.__doc__
