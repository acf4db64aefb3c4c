"""Write the published description to a file: ``python -m threenorths_service openapi/threenorths.yaml``."""

import sys
from pathlib import Path

from .api.openapi import description_yaml

if len(sys.argv) != 2:
    sys.exit("usage: python -m threenorths_service FILE")
Path(sys.argv[1]).write_text(description_yaml(), encoding="utf-8")
