"""Bench of the search: when it is ready and how fast it answers, as entries grow.

Entries beyond the shipped ones are made of the shipped words in a new order and new words of
the same length, drawn with a fixed seed: size and vocabulary are real, the sense is not.
"""

import random
from statistics import median

import yaml

from build_tools.knowledge.assemble import load_catalogue
from build_tools.site.search import search_document
from tests.bench.chromium import THROTTLE, chromium, served
from tests.bench.figures import Figure, Target
from tests.bench.synthetic import ROOT

PART = "search"
SIZES = (60, 500, 2000)
ROUNDS = 5
# A keystroke that waits longer than this is felt; a common figure in the literature.
SLOWEST_QUERY_MS = 100
MEASURE = """async ({ texts, synonyms, phrases, rounds }) => {
  const { buildIndex, find } = await import('/knowledge/search.js');
  const { default: lunr } = await import('/vendor/lunr.js');
  const readies = [];
  let built;
  for (let round = 0; round < rounds; round += 1) {
    const start = performance.now();
    built = buildIndex(lunr, texts, synonyms);
    readies.push(performance.now() - start);
  }
  const times = phrases.map((phrase) => {
    const from = performance.now();
    find(built, phrase, 6);
    return performance.now() - from;
  });
  return { readies, times };
}"""


def measure(say):
    """Yield the figures of this part; `say` is told how far it is."""
    catalogue, _ = load_catalogue(ROOT)
    shipped = search_document(catalogue)
    asked = yaml.safe_load((ROOT / "tests" / "search_phrases.yml").read_text("utf-8"))
    phrases = [one["text"] for one in asked["phrases"]] + asked["nonsense"]
    with chromium() as browser, served(ROOT / "site_overrides" / "assets") as address:
        page = browser.new_page()
        page.goto(address)
        page.context.new_cdp_session(page).send(
            "Emulation.setCPUThrottlingRate", {"rate": THROTTLE}
        )
        for size in SIZES:
            say(f"search: {size} entries")
            texts = grown(shipped["texts"], size)
            asking = {"texts": texts, "synonyms": shipped["synonyms"], "phrases": phrases}
            found = page.evaluate(MEASURE, {**asking, "rounds": ROUNDS})
            yield from _figures(size, found)


def _figures(size, found):
    where = f"{size} entries, 1/{THROTTLE} speed"
    times = found["times"]
    yield Figure(PART, f"ready, {where}", "ms", median(found["readies"]))
    yield Figure(
        PART, f"query, {where}", "ms", median(times), target=Target(SLOWEST_QUERY_MS, of="ours")
    )
    yield Figure(PART, f"slowest query, {where}", "ms", max(times))


def grown(texts, size):
    """Return the texts, or as many as asked for, filled up with invented entries."""
    draw = random.Random(size)
    words = [word for one in texts.values() for line in one["says"] for word in line.split()]
    lines = [line for one in texts.values() for line in one["says"]]
    found = dict(list(texts.items())[:size])
    while len(found) < size:
        said = []
        for line in draw.choices(lines, k=8):
            row = draw.choices(words, k=len(line.split()))
            if draw.random() < 0.5:
                row[0] = "".join(draw.choices("abcdefghiklmnoprstuvw", k=draw.randint(4, 9)))
            said.append(" ".join(row))
        title = " ".join(draw.choices(words, k=5))
        found[f"invented-{len(found):04}"] = {"title": title, "says": said, "family": "none"}
    return found
