"""The HTTP service: `create_app` gives a working one with no argument and no environment."""

from __future__ import annotations

from flask import Flask

from ..operations.catalogue import OPERATIONS
from .batches import batches
from .endpoints import register_operation
from .pages import pages
from .problems import register_problems

__all__ = ["create_app"]

#: A request of the operations may not be larger. [byte]
MAX_BODY_BYTES = 1_048_576


def create_app() -> Flask:
    """The application. Stateless: all that an answer depends on is in its request."""
    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = MAX_BODY_BYTES
    register_problems(app)
    app.register_blueprint(pages)
    app.register_blueprint(batches)
    for operation in OPERATIONS:
        register_operation(app, operation)
    return app
