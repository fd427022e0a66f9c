"""Read the published knowledge; work out one complaint's causes and judge one reading.

Usage: python data_example.py https://HOST/assets/data/knowledge.json (or a file's path)
"""

import json
import sys
from math import prod
from urllib.request import urlopen

address = sys.argv[1]
data = json.load(urlopen(address) if "://" in address else open(address, "rb"))

# One complaint is noticed. Each cause alone leaves it unnoticed with the chance in `links`;
# together they must all do so (a noisy OR), and so must whatever the model leaves out.
finding = next(f for f in data["network"]["findings"] if f["id"] == "flat-overnight")
prior = {cause["id"]: cause["prior"] for cause in data["network"]["causes"]}
silent = {cause: row[0] for cause, row in finding["links"].items()}
unnoticed = {cause: 1 - prior[cause] * (1 - silent[cause]) for cause in silent}
nothing = finding["leak"][0] * prod(unnoticed.values())
posterior = {c: prior[c] * (1 - silent[c] * nothing / unnoticed[c]) / (1 - nothing) for c in silent}

# A flooded battery that rested overnight reads 12.1 V.
gauge = data["gauges"]["resting-voltage"]
fits = (t for t in gauge["tables"] if "flooded" in t["for"].get("battery-type", ["flooded"]))
row = next(r for r in next(fits)["bands"] if r.get("from", -99) <= 12.1 < r.get("below", 99))
band = next(band for band in gauge["bands"] if band["id"] == row["band"])

print(json.dumps({"edition": data["edition"], "posterior": posterior, "verdict": band["says"]}))
