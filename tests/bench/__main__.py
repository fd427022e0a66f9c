"""Print what the site costs beside what others cost: `python -m tests.bench`, or `make bench`.

Figures go to standard output, progress to standard error. Nothing fails on a missed target;
the table says so. Exit codes: 0 printed, 2 wrong use or a part could not be measured.
"""

import argparse
import json
import sys
import time

from tests.bench import (
    answer_bench,
    build_bench,
    engine_bench,
    limits_bench,
    pages_bench,
    search_bench,
    waits_bench,
)
from tests.bench.figures import document, table

PARTS = {
    "build": build_bench.measure,
    "pages": pages_bench.measure,
    "search": search_bench.measure,
    "answer": answer_bench.measure,
    "engine": engine_bench.measure,
    "limits": limits_bench.measure,
    "waits": waits_bench.measure,
}


def main(words=None):
    """Measure the parts asked for and print them; return the exit code."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench",
        description="Print ratios of speed and weight beside their targets. A quiet machine gives "
        "quiet figures; all parts take about 20 minutes.",
    )
    parser.add_argument("--only", choices=PARTS, action="append", help="measure only this part")
    parser.add_argument("--beside", metavar="DIR", help="waits: a former build to compare with")
    parser.add_argument("--json", action="store_true", help="write JSON")
    arguments = parser.parse_args(words)
    figures, code, start = [], 0, time.monotonic()

    def say(text):
        print(f"[{time.monotonic() - start:5.0f} s] {text}", file=sys.stderr, flush=True)

    for name in arguments.only or PARTS:
        try:
            more = {"beside": arguments.beside} if name == "waits" else {}
            figures.extend(PARTS[name](say, **more))
        except Exception as error:  # noqa: BLE001 - the other parts are still worth printing
            say(f"{name} could not be measured: {type(error).__name__}: {error}")
            code = 2
    if arguments.json:
        print(json.dumps(document(figures), indent=1))
    else:
        print(table(figures))
    return code


if __name__ == "__main__":
    sys.exit(main())
