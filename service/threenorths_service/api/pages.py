"""What is served beside the operations: the description, its page, the problems' pages, and the service's health."""

from __future__ import annotations

from flask import Blueprint, Response, abort, redirect, render_template, send_from_directory
from markupsafe import Markup, escape
from werkzeug.wrappers import Response as BaseResponse

from .. import __version__
from ..navmath.cautions import CAUTIONS
from ..navmath.datums.datum_names import DatumRow, datum_row
from ..navmath.datums.datum_table import all_operations
from ..navmath.texts.written_forms import WRITTEN_FORMS
from ..operations.catalogue import OPERATIONS
from .openapi import description, description_yaml
from .problems import KINDS
from .readiness import wrong_answers
from .replies import PAGE_POLICY, reply

__all__ = ["pages"]

pages = Blueprint("pages", __name__)

ASSETS = {
    "documentation.js": "documentation.js",
    "documentation.css": "documentation.css",
    "swagger-ui-bundle.js": "swagger-ui/swagger-ui-bundle.js",
    "swagger-ui.css": "swagger-ui/swagger-ui.css",
}


@pages.after_request
def add_headers(response: Response) -> Response:
    """What a browser may do with a page, where `reply` has not said it."""
    response.headers.setdefault("Content-Security-Policy", PAGE_POLICY)
    response.headers.setdefault("X-Content-Type-Options", "nosniff")
    response.headers.setdefault("Referrer-Policy", "no-referrer")
    return response


@pages.app_template_filter()
def code_marked(text: str) -> Markup:
    """A text with what stands between backticks marked as code."""
    parts = (escape(part) for part in text.split("`"))
    return Markup("").join(
        Markup("<code>{}</code>").format(part) if index % 2 else part for index, part in enumerate(parts)
    )


@pages.get("/")
def root() -> BaseResponse:
    """Lead to the documentation page."""
    return redirect("/docs")


@pages.get("/docs", strict_slashes=False)
def documentation() -> Response:
    """The documentation page; all it needs is served from here."""
    return send_from_directory("static", "documentation.html")


@pages.get("/docs/<name>")
def asset(name: str) -> Response:
    """A file of the documentation page."""
    if name not in ASSETS:
        abort(404)
    return send_from_directory("static", ASSETS[name], max_age=3600)


@pages.get("/openapi.json")
def openapireply() -> Response:
    """The description as JSON."""
    return reply(description())


@pages.get("/openapi.yaml")
def openapi_yaml() -> Response:
    """The description as it is committed."""
    return Response(description_yaml(), content_type="application/yaml")


@pages.get("/problems/")
def problem_list() -> str:
    """Every kind of problem."""
    return render_template(
        "problems.html", kinds=sorted(KINDS.values(), key=lambda kind: (kind.status, kind.code))
    )


@pages.get("/problems/<code>")
def problem(code: str) -> str:
    """The page that a problem's ``type`` names."""
    if code not in KINDS:
        abort(404)
    raised_by = [op.name for op in OPERATIONS if code in {error.code for error in op.errors}]
    return render_template("problem.html", kind=KINDS[code], operations=raised_by)


@pages.get("/cautions/")
def caution_list() -> str:
    """What each caution means."""
    return render_template("cautions.html", cautions=CAUTIONS)


@pages.get("/cautions/<code>")
def caution(code: str) -> BaseResponse:
    """Lead to what one caution means."""
    if code not in CAUTIONS:
        abort(404)
    return redirect(f"/cautions/#{code}")


@pages.get("/forms", strict_slashes=False)
def forms() -> str:
    """Every form that a position is read in."""
    return render_template("forms.html", forms=WRITTEN_FORMS)


@pages.get("/datums", strict_slashes=False)
def datums() -> str:
    """Every datum and the operations that lead from it to WGS 84."""
    datums = sorted(((datum_row(code), ops) for code, ops in all_operations().items()), key=_datum_name)
    return render_template("datums.html", datums=datums)


def _datum_name(datum: tuple[DatumRow, object]) -> str:
    return datum[0].name.casefold()


@pages.get("/livez")
def alive() -> Response:
    """The process answers."""
    return reply({"status": "alive"})


@pages.get("/readyz")
def ready() -> Response:
    """The mathematics answers, and answers right."""
    wrong = wrong_answers()
    return reply({"status": "wrong", "answers": wrong}, status=503) if wrong else reply({"status": "ready"})


@pages.get("/version")
def version() -> Response:
    """The version that runs."""
    return reply({"version": __version__})
