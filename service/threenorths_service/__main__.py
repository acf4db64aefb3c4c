"""Print the published description: ``python -m threenorths_service > openapi/threenorths.yaml``."""

import sys

from .api.openapi import description_yaml

sys.stdout.write(description_yaml())
