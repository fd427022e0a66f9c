"""Bench of reading a message: 5,000 characters of strangers' talk, on a slowed phone."""

import time
from statistics import median

from build_tools.cli.answer_documents import MessageReader
from build_tools.knowledge.assemble import load_catalogue
from build_tools.site import search
from build_tools.site.answer_words import answer_words
from tests.bench.chromium import THROTTLE, chromium, served
from tests.bench.figures import Figure, Target
from tests.bench.synthetic import ROOT
from tests.test_messages import MESSAGES

PART = "answer"
LENGTH = 5000
ROUNDS = 9
# Longer is felt as waiting; a common figure in the literature.
SLOWEST_MS = 100
MEASURE = """async ({ search, words, texts }) => {
  const { prepare, messageDocument } = await import('/answer/message-document.js');
  prepare(search, words);
  return texts.map((text) => {
    const from = performance.now();
    messageDocument(text);
    return performance.now() - from;
  });
}"""


def texts():
    """Return texts of so many characters, each begun with another message."""
    for start in range(ROUNDS):
        several = [one["text"] for one in MESSAGES[start * 10 :] + MESSAGES[: start * 10]]
        yield "\n".join(several)[:LENGTH]


def measure(say):
    """Yield the figures of this part; `say` is told how far it is."""
    catalogue, _ = load_catalogue(ROOT)
    say(f"answer: {ROUNDS} messages")
    asked = list(texts())
    with chromium() as browser, served(ROOT / "site_overrides" / "assets") as address:
        page = browser.new_page()
        page.goto(address)
        page.context.new_cdp_session(page).send(
            "Emulation.setCPUThrottlingRate", {"rate": THROTTLE}
        )
        words = {"search": search.search_document(catalogue), "words": answer_words(catalogue)}
        times = page.evaluate(MEASURE, {**words, "texts": asked})
    reader = MessageReader(catalogue)
    beside = []
    for text in asked:
        start = time.perf_counter()
        reader.read(text)
        beside.append((time.perf_counter() - start) * 1000)
    where = f"{LENGTH} characters, 1/{THROTTLE} speed"
    target = Target(SLOWEST_MS, of="ours")
    # The first message warms what stays.
    yield Figure(
        *(PART, f"message read, {where}", "ms", median(times[1:]), median(beside[1:])),
        "embedded, full speed",
        target=target,
    )
    yield Figure(PART, f"first message, {where}", "ms", times[0], beside[0], "embedded")
