"""Room reasoning: plain sentences for verdicts, reasons and flags.

One sentence per id; `{number}`, `{limit}` and `{monitors}` are filled in by whoever shows
them. It decides nothing.
"""

from __future__ import annotations

from typing import Final

RESULT_WORDS: Final = {
    "pass": "Ready by this rule.",
    "interim-pass": "Within the older working limit, but not ready by the newer rule. Check with "
    "the authority.",
    "pass-on-this-item": "As far as known, readiness is not tested here.",
    "fail": "Not through by this rule.",
    "reject": "Turned away until ready; that is no failed test.",
    "not-ready": "Not ready by this rule yet.",
    "tailpipe": "Too many monitors are incomplete; another kind of test is made instead.",
    "communication-failure": "The car's computer does not answer, so there is no computer test.",
    "undecided": "The accounts differ or the data contradict each other. Ask before you go.",
    "indeterminate": "This cannot be decided from what is here.",
    "no-band": "The rule says nothing about this model year and fuel.",
    "no-rule": "No count was seen in this place's own text, so none is applied.",
}
REASON_WORDS: Final = {
    "connector-dead": "The diagnostic connector is missing, tampered with or dead.",
    "no-answer": "The computer does not answer.",
    "no-rule": "Only the scope of the program was seen here.",
    "lamp-dark": "The engine lamp is commanded on but does not light.",
    "lamp-on": "The engine lamp is commanded on; codes counted: {number}.",
    "lamp-without-code": "The engine lamp is commanded on, but no code is counted.",
    "stored-code": "Codes stored with the lamp off: {number}.",
    "not-tested": "Readiness is not part of the test, as far as known.",
    "vehicle-needed": "The rule needs the model year and the fuel.",
    "no-band": "No limit was seen for this model year and fuel.",
    "forced": "These must be complete whatever the count: {monitors}.",
    "all-complete": "Every counted monitor is complete.",
    "within-limit": "Incomplete: {number}; the rule allows {limit}.",
    "too-many": "Incomplete: {number}; the rule allows {limit}.",
    "new-rule": "Incomplete: {number}; the newer rule allows {limit}.",
    "not-the-allowed-ones": "These may not be incomplete: {monitors}.",
    "outcome": "What the place then does is stated beside the rule.",
    "permanent-code": "Permanent codes stored: {number}.",
    "exemption": "By another account a permanent code is left out after enough driving.",
    "complete-any": "Complete {number} more of: {monitors}.",
    "complete-these": "Complete: {monitors}.",
    "drive-plan": "Drive the plan for these monitors.",
    "lamp-off": "Find what lit the lamp. Clearing codes to put it out sets all monitors back.",
    "lamp-repair": "Have the lamp itself repaired.",
    "read-again": "Read the car again.",
    "code-gone": "Find the reason for the code. Clearing it sets all monitors back.",
    "permanent-code-gone": "A permanent code goes only when its monitor has run and found nothing.",
    "tell-counters": "Read the warm-ups and the distance since codes were cleared.",
    "warm-ups": "Warm-ups since clear: {number}; one account asks for {limit}.",
    "distance": "Distance since clear: {number} km; one account asks for {limit} km.",
    "ask-authority": "Ask the authority how a permanent code is treated.",
    "power-loss-undoes": "A cleared code or lost battery power before the test would undo this.",
}
FLAG_WORDS: Final = {
    "historic": "This program has ended, as far as known.",
    "guidance": "This is guidance; states may differ.",
    "in-transition": "The rule is being changed. Ask the authority what holds for your car.",
    "their-tool-may-differ": "Their equipment may get an answer where yours does not.",
    "unverified": "This is from memory and was not checked.",
    "continuous-not-counted": "An always-running monitor is incomplete; it is not counted.",
    "band-note": "A note stands beside this limit.",
    "hybrid-as-gasoline": "The rule does not name hybrids; yours is taken as gasoline.",
    "code-without-lamp": "A code is counted though the lamp is off.",
    "accounts-differ": "Accounts of this rule differ.",
    "fails-by-new-rule": "By the plain words of the newer rule this is not ready.",
    "extension-possible": "An extension may be given.",
    "extension-unknown": "Whether an extension is given depends on what you have not told.",
    "no-extension": "No extension is given in this case.",
    "permanent-code-unknown": "Permanent codes are stored; no rule about them was seen here.",
    "permanent-code-not-looked-at": "By one account, permanent codes do not count for this year.",
    "exemption-unknown": "The counters since clear are not known.",
    "pending-code-unclear": "A pending code is stored; which codes count was not seen.",
}
MARK_WORDS: Final = {
    "own": "the authority's own words",
    "own-mirror": "the regulation's words on an unofficial copy",
    "programme": "the program's public page",
    "second-hand": "second-hand: check with the authority",
    "from-memory": "from memory: check with the authority",
}
