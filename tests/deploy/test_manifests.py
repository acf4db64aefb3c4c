"""The Dockerfile, the compose file and the Kubernetes manifests agree with the settings and with one another.

They are read here, not run.
"""

import fnmatch
import json
import os
import re
import runpy
import tomllib
from pathlib import Path
from typing import Any

import pytest
import yaml

from serving import APPLICATION, CHECKOUT
from threenorths_service.api import create_app
from threenorths_service.api.batches import MOST_AT_ONCE
from threenorths_service.api.intake import MAX_BATCH_BYTES

DEPLOY = CHECKOUT / "deploy"
PROJECT = tomllib.loads(Path(CHECKOUT, "pyproject.toml").read_text())["project"]
IMAGE = f"threenorths:{PROJECT['version']}"


@pytest.fixture
def settings(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    monkeypatch.delenv("THREENORTHS_PORT", raising=False)
    return runpy.run_path(str(DEPLOY / "gunicorn.conf.py"))


@pytest.fixture(scope="module")
def paths() -> set[str]:
    return {rule.rule for rule in create_app().url_map.iter_rules()}


@pytest.fixture(scope="module")
def dockerfile() -> list[tuple[str, str]]:
    """Each instruction and the rest of its line."""
    text = re.sub(r"^#.*\n", "", Path(DEPLOY, "Dockerfile").read_text(), flags=re.MULTILINE)
    lines = re.sub(r"\s*\\\n\s*", " ", text).splitlines()
    return [(line.split()[0], line.split(maxsplit=1)[1]) for line in lines if line.strip()]


@pytest.fixture(scope="module")
def compose() -> dict[str, Any]:
    (service,) = yaml.safe_load(Path(DEPLOY, "compose.yaml").read_text())["services"].values()
    return service


@pytest.fixture(scope="module")
def manifests() -> dict[str, dict[str, Any]]:
    """By kind."""
    documents = [
        yaml.safe_load(path.read_text()) for path in sorted(Path(DEPLOY, "kubernetes").glob("*.yaml"))
    ]
    assert len({document["kind"] for document in documents}) == len(documents)
    return {document["kind"]: document for document in documents}


def of(dockerfile: list[tuple[str, str]], instruction: str) -> list[str]:
    return [rest for name, rest in dockerfile if name == instruction]


def port_of(settings: dict[str, Any]) -> int:
    return int(settings["bind"].rsplit(":", 1)[1])


def scratch_gib(workers: int) -> int:
    """What the bodies of all batches that so many workers take at once come to on disk. [GiB]"""
    return workers * MOST_AT_ONCE * MAX_BATCH_BYTES >> 30


class TestScripts:
    @pytest.mark.parametrize("script", ["deploy/serve", "tests/run", ".ci/run"])
    def test_they_can_be_run(self, script: str) -> None:
        assert os.access(CHECKOUT / script, os.X_OK)

    def test_they_want_the_python_that_the_project_wants(self) -> None:
        major, minor = re.fullmatch(r">=(\d+)\.(\d+)", PROJECT["requires-python"]).groups()
        environment = Path(DEPLOY, "environment.sh").read_text()
        assert f"sys.version_info < ({major}, {minor})" in environment
        assert f"no Python {major}.{minor} or newer found" in environment

    def test_the_application_is_named_alike_everywhere(self, dockerfile: list[tuple[str, str]]) -> None:
        assert f'"{APPLICATION}"' in Path(DEPLOY, "serve").read_text()
        assert json.loads(of(dockerfile, "CMD")[0])[-1] == APPLICATION


class TestDockerfile:
    def test_it_runs_as_a_numbered_user_who_is_not_root(self, dockerfile: list[tuple[str, str]]) -> None:
        assert of(dockerfile, "USER") == ["10001:10001"]

    def test_gunicorn_is_the_first_process_and_gets_the_signals(
        self, dockerfile: list[tuple[str, str]]
    ) -> None:
        command = json.loads(of(dockerfile, "CMD")[0])
        assert command[0] == "gunicorn"
        assert f"deploy/gunicorn.conf.py {command[2]}" in of(dockerfile, "COPY")

    def test_its_port_is_the_one_of_the_settings(
        self, dockerfile: list[tuple[str, str]], settings: dict[str, Any]
    ) -> None:
        assert of(dockerfile, "EXPOSE") == [str(port_of(settings))]
        assert f"THREENORTHS_PORT={port_of(settings)}" in of(dockerfile, "ENV")[0].split()

    def test_its_health_check_asks_an_existing_path(
        self, dockerfile: list[tuple[str, str]], settings: dict[str, Any], paths: set[str]
    ) -> None:
        asked = re.search(r"http://127\.0\.0\.1:(\d+)(/\w+)", of(dockerfile, "HEALTHCHECK")[0])
        assert asked is not None
        assert int(asked[1]) == port_of(settings)
        assert asked[2] in paths

    def test_what_it_copies_is_there_and_not_ignored(self, dockerfile: list[tuple[str, str]]) -> None:
        ignored = Path(DEPLOY, "Dockerfile.dockerignore").read_text().splitlines()
        kept = [line.removeprefix("!") for line in ignored if line.startswith("!")]
        copies = [copy for copy in of(dockerfile, "COPY") if not copy.startswith("--from")]
        for source in [source for copy in copies for source in copy.split()[:-1]]:
            assert (CHECKOUT / source).exists()
            assert any(fnmatch.fnmatch(source, pattern) for pattern in kept)

    def test_it_copies_all_that_the_build_needs(self, dockerfile: list[tuple[str, str]]) -> None:
        hatch = tomllib.loads(Path(CHECKOUT, "pyproject.toml").read_text())["tool"]["hatch"]["build"][
            "targets"
        ]
        needed = {package.split("/")[0] for package in hatch["wheel"]["packages"]}
        needed |= {"pyproject.toml", PROJECT["readme"], *PROJECT["license-files"]}
        assert needed <= {source for copy in of(dockerfile, "COPY") for source in copy.split()[:-1]}


class TestCompose:
    def test_it_is_reachable_from_this_machine_alone(
        self, compose: dict[str, Any], settings: dict[str, Any]
    ) -> None:
        port = port_of(settings)
        assert compose["ports"] == [f"127.0.0.1:{port}:{port}"]

    def test_it_may_do_no_more_than_it_needs(self, compose: dict[str, Any]) -> None:
        assert compose["read_only"] is True
        assert compose["cap_drop"] == ["ALL"]
        assert compose["security_opt"] == ["no-new-privileges:true"]
        assert compose["image"] == IMAGE

    def test_it_waits_for_requests_under_way(self, compose: dict[str, Any], settings: dict[str, Any]) -> None:
        assert int(compose["stop_grace_period"].removesuffix("s")) > settings["graceful_timeout"]

    def test_it_says_how_large_its_scratch_may_grow(self, compose: dict[str, Any]) -> None:
        text = Path(DEPLOY, "compose.yaml").read_text()
        workers = int(compose["environment"]["WEB_CONCURRENCY"])
        assert f"{scratch_gib(workers)} GiB" in text

    def test_it_builds_our_dockerfile(self, compose: dict[str, Any]) -> None:
        context = (DEPLOY / compose["build"]["context"]).resolve()
        assert context == CHECKOUT
        assert (context / compose["build"]["dockerfile"]).is_file()


class TestKubernetes:
    @pytest.fixture
    def pod(self, manifests: dict[str, dict[str, Any]]) -> dict[str, Any]:
        return manifests["Deployment"]["spec"]["template"]["spec"]

    @pytest.fixture
    def container(self, pod: dict[str, Any]) -> dict[str, Any]:
        (container,) = pod["containers"]
        return container

    def test_its_probes_ask_existing_paths(self, container: dict[str, Any], paths: set[str]) -> None:
        for probe in ("startupProbe", "readinessProbe", "livenessProbe"):
            assert container[probe]["httpGet"]["path"] in paths
            assert container[probe]["httpGet"]["port"] == "http"
        # A computation that fails must take the pod out of service, not kill it.
        assert container["livenessProbe"]["httpGet"]["path"] == "/livez"

    def test_its_port_is_the_one_of_the_settings(
        self, container: dict[str, Any], settings: dict[str, Any], manifests: dict[str, dict[str, Any]]
    ) -> None:
        assert container["ports"] == [{"name": "http", "containerPort": port_of(settings)}]
        assert manifests["Service"]["spec"]["ports"][0]["targetPort"] == "http"
        assert manifests["NetworkPolicy"]["spec"]["ingress"][0]["ports"] == [
            {"protocol": "TCP", "port": "http"}
        ]

    def test_it_may_do_no_more_than_it_needs(
        self, pod: dict[str, Any], container: dict[str, Any], dockerfile: list[tuple[str, str]]
    ) -> None:
        user = pod["securityContext"]
        assert user["runAsNonRoot"] is True
        assert [f"{user['runAsUser']}:{user['runAsGroup']}"] == of(dockerfile, "USER")
        assert user["seccompProfile"] == {"type": "RuntimeDefault"}
        assert pod["automountServiceAccountToken"] is False
        assert container["securityContext"] == {
            "allowPrivilegeEscalation": False,
            "readOnlyRootFilesystem": True,
            "capabilities": {"drop": ["ALL"]},
        }
        assert container["image"] == IMAGE

    def test_it_waits_for_requests_under_way(
        self, pod: dict[str, Any], container: dict[str, Any], settings: dict[str, Any]
    ) -> None:
        _, sleep_s = container["lifecycle"]["preStop"]["exec"]["command"]
        assert pod["terminationGracePeriodSeconds"] > int(sleep_s) + settings["graceful_timeout"]

    def test_its_scratch_holds_every_batch_that_it_takes_at_once(
        self, pod: dict[str, Any], container: dict[str, Any]
    ) -> None:
        # A pod over the limit is evicted, with every batch in it.
        (workers,) = [int(each["value"]) for each in container["env"] if each["name"] == "WEB_CONCURRENCY"]
        (mount,) = container["volumeMounts"]
        (volume,) = pod["volumes"]
        assert mount["name"] == volume["name"]
        limit_gib = int(volume["emptyDir"]["sizeLimit"].removesuffix("Gi"))
        assert limit_gib > scratch_gib(workers)
        assert f"{scratch_gib(workers)} GiB" in Path(DEPLOY, "kubernetes", "deployment.yaml").read_text()

    def test_every_selector_selects_its_pods(self, manifests: dict[str, dict[str, Any]]) -> None:
        labels = manifests["Deployment"]["spec"]["template"]["metadata"]["labels"]
        assert manifests["Deployment"]["spec"]["selector"] == {"matchLabels": labels}
        assert manifests["Service"]["spec"]["selector"] == labels
        assert manifests["PodDisruptionBudget"]["spec"]["selector"] == {"matchLabels": labels}
        assert manifests["NetworkPolicy"]["spec"]["podSelector"] == {"matchLabels": labels}
        target = manifests["HorizontalPodAutoscaler"]["spec"]["scaleTargetRef"]
        assert (target["kind"], target["name"]) == ("Deployment", manifests["Deployment"]["metadata"]["name"])

    def test_one_pod_may_always_be_taken_away(self, manifests: dict[str, dict[str, Any]]) -> None:
        fewest = manifests["HorizontalPodAutoscaler"]["spec"]["minReplicas"]
        assert manifests["PodDisruptionBudget"]["spec"]["minAvailable"] < fewest
        assert "replicas" not in manifests["Deployment"]["spec"]

    def test_it_may_call_nobody(self, manifests: dict[str, dict[str, Any]]) -> None:
        policy = manifests["NetworkPolicy"]["spec"]
        assert policy["egress"] == []
        assert "Egress" in policy["policyTypes"]
