"""What tests ask of the shipped knowledge: loaded once for all that only read it."""

import json
from functools import cache
from pathlib import Path

from build_tools.knowledge.assemble import load_catalogue
from build_tools.site.compile_json import compile_catalogue

ROOT = Path(__file__).resolve().parents[1]
CATALOGUE, PROBLEMS = load_catalogue(ROOT)
READINESS = CATALOGUE.readiness


@cache
def knowledge():
    """Return the compiled catalogue as the browser reads it."""
    return json.loads(json.dumps(compile_catalogue(CATALOGUE)))
