"""The rule for the virtual environment, on made-up machines: a PATH of stand-ins, and a copy of the scripts."""

import shutil
import subprocess
from pathlib import Path

import pytest

from serving import CHECKOUT

TOOLS = ("bash", "cat", "cksum", "dirname", "env", "grep")

TOO_OLD = "#!/bin/sh\nexit 1\n"
WITHOUT_VENV = '#!/bin/sh\ncase "$*" in *ensurepip*) exit 1;; esac\n'
# Notes what it is asked to do. `-m venv DIRECTORY` makes a copy of it there, as a virtual environment would.
WORKING = """#!/bin/sh
echo "$(basename "$0") $*" >>"$CALLS"
if [ "$2" = venv ]; then mkdir -p "$3/bin" && cp "$0" "$3/bin/python"; fi
"""
WITHOUT_INDEX = '#!/bin/sh\ncase "$*" in *install*) echo "no such index" >&2; exit 1;; esac\n'


class Machine:
    """A checkout with the scripts alone, and a folder of programs that is the whole PATH."""

    def __init__(self, folder: Path) -> None:
        self.programs, self.checkout, self.calls = folder / "bin", folder / "a checkout", folder / "calls"
        self.programs.mkdir()
        (self.checkout / "deploy").mkdir(parents=True)
        for name in ("serve", "environment.sh"):
            shutil.copy(CHECKOUT / "deploy" / name, self.checkout / "deploy")
        shutil.copy(CHECKOUT / "pyproject.toml", self.checkout)
        for tool in (*TOOLS, "basename", "cp", "mkdir"):
            found = shutil.which(tool)
            assert found is not None
            (self.programs / tool).symlink_to(found)

    def add(self, program: str, script: str) -> None:
        path = Path(self.programs, program)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(script)
        path.chmod(0o755)

    def serve(self, **environment: str) -> subprocess.CompletedProcess[str]:
        environment = {"PATH": str(self.programs), "CALLS": str(self.calls), **environment}
        return subprocess.run(
            [self.checkout / "deploy" / "serve"], env=environment, capture_output=True, text=True, timeout=30
        )

    def asked(self, what: str) -> list[str]:
        calls = self.calls.read_text().splitlines() if self.calls.exists() else []
        return [call for call in calls if what in call]


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path)


def test_no_python_is_said(machine: Machine) -> None:
    run = machine.serve()
    assert run.returncode == 1
    assert "error: no Python 3.11 or newer found" in run.stderr


def test_a_python_that_is_too_old_is_not_taken(machine: Machine) -> None:
    machine.add("python3", TOO_OLD)
    assert "error: no Python 3.11 or newer found" in machine.serve().stderr


def test_a_python_without_venv_is_said(machine: Machine) -> None:
    machine.add("python3", WITHOUT_VENV)
    run = machine.serve()
    assert run.returncode == 1
    assert "error: python3 has no venv and ensurepip modules" in run.stderr


def test_a_shim_that_runs_nothing_is_passed_over(machine: Machine) -> None:
    machine.add("python3.13", TOO_OLD)
    machine.add("python3.12", WITHOUT_VENV)
    machine.add("python3", WORKING)
    run = machine.serve()
    assert run.returncode == 0, run.stderr
    assert machine.asked("python3 -m venv") == [f"python3 -m venv {machine.checkout}/.venv"]


def test_only_the_first_start_installs(machine: Machine) -> None:
    machine.add("python3", WORKING)
    for _ in range(3):
        assert machine.serve().returncode == 0
    assert len(machine.asked("-m venv")) == 1
    assert machine.asked("pip install") == [
        f"python -m pip install -qq --editable {machine.checkout}[service]",
    ]
    assert len(machine.asked("-m gunicorn")) == 3


def test_a_changed_pyproject_installs_again(machine: Machine) -> None:
    machine.add("python3", WORKING)
    machine.serve()
    with (machine.checkout / "pyproject.toml").open("a") as pyproject:
        pyproject.write("# changed\n")
    machine.serve()
    assert len(machine.asked("pip install")) == 2


def test_the_active_environment_is_used(machine: Machine) -> None:
    active = machine.programs.parent / "active"
    machine.add(f"{active}/bin/python", WORKING)
    assert machine.serve(VIRTUAL_ENV=str(active)).returncode == 0
    assert not (machine.checkout / ".venv").exists()
    assert len(machine.asked("pip install")) == 1


def test_an_active_environment_that_is_too_old_is_said(machine: Machine) -> None:
    active = machine.programs.parent / "active"
    machine.add(f"{active}/bin/python", TOO_OLD)
    run = machine.serve(VIRTUAL_ENV=str(active))
    assert run.returncode == 1
    assert f"error: the virtual environment {active} has no working Python 3.11 or newer" in run.stderr


def test_an_installation_that_fails_is_said_and_tried_again(machine: Machine) -> None:
    active = machine.programs.parent / "active"
    machine.add(f"{active}/bin/python", WITHOUT_INDEX)
    run = machine.serve(VIRTUAL_ENV=str(active))
    assert run.returncode == 1
    assert "no such index" in run.stderr
    assert "error: the installation did not succeed" in run.stderr
    machine.add(f"{active}/bin/python", WORKING)
    assert machine.serve(VIRTUAL_ENV=str(active)).returncode == 0
    assert len(machine.asked("pip install")) == 1
