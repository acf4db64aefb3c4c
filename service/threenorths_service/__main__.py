"""Write the published description to a file: ``python -m threenorths_service openapi/threenorths.yaml``."""

from __future__ import annotations

import argparse
from pathlib import Path

from .api.openapi import description_yaml

parser = argparse.ArgumentParser(
    "python -m threenorths_service", description="Write the OpenAPI description of the service to a file."
)
parser.add_argument("file", type=Path, help="the file, which is written over")
parser.parse_args().file.write_text(description_yaml(), encoding="utf-8")
