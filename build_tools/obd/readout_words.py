"""Room reasoning: plain sentences for the states and warnings of a readout.

One sentence per id, shared by pages, the command line and the browser. It decides nothing.
"""

from __future__ import annotations

from typing import Final

STATE_WORDS: Final = {
    "usable": "This readout can be used.",
    "all-zero": "Every bit is zero, so the car reports no monitors. This is no usable readout, "
    "and it does not mean ready.",
    "nothing-supported": "The lamp or a code is reported, but no monitor. Readiness cannot be "
    "told from this.",
    "continuous-only": "Only the always-running monitors answered. The engine computer may not "
    "have answered; read it again.",
    "short": "An answer about the monitors is cut short. Read it again.",
    "contradictory": "One unit answers as a spark engine and another as a compression engine. "
    "Read it again.",
    "this-trip-only": "This is the state of this trip only (PID 41). An inspection uses PID 01. "
    "Read that too.",
    "no-status": "No answer about monitors is in this text. Ask the car for service 01 PID 01.",
    "other-protocol": "This car answers in a newer way (UDS), which tells readiness elsewhere. No "
    "answer here is not the same as not ready.",
    "refused": "The car refused the question. Some cars do not answer it in this way.",
    "no-answer": "The car did not answer. That is not the same as not ready: check the ignition, "
    "the connector and its fuse.",
    "damaged": "The text is damaged on the way. Read it again.",
    "nothing-recognised": "Nothing in this text looks like an answer of the car.",
    "empty": "There is nothing here yet.",
    "too-long": "This text is too long to be a readout. Paste only the answers about monitors.",
    "ticks-incomplete": "Say first which kind of engine it is and which monitors are there.",
    "count-out-of-range": "The number of codes lies between 0 and 127.",
}
WARNING_WORDS: Final = {
    "lamp-without-code": "The engine lamp is commanded on but no code is counted. Read it again.",
    "code-without-lamp": "A code is counted but the lamp is off. This can be a passing state; read "
    "it again.",
    "reserved-bits": "Bits that should stay empty are set. The text may be damaged, or the car "
    "knows a monitor we do not.",
    "unit-tells-nothing": "One control unit reports no monitors. It is left out.",
    "bit-four": "One bit meant the air conditioning once and the particulate filter now. It is "
    "shown but not counted.",
    "units-without-name": "Several answers came without a name. Each is taken as another control "
    "unit.",
    "bare-bytes": "You gave four bytes only. They are taken as the answer to service 01 PID 01.",
    "short-reply": "One answer is cut short and was left out.",
    "short-status": "One answer about the monitors is cut short.",
    "extra-bytes": "Bytes after the answer were not understood.",
    "told-twice": "A control unit answered twice in different ways. The later answer is used.",
    "count-or-code": "Without a header it is unclear whether the first byte is a count or part of "
    "a code. Compare with what your tool shows.",
    "damaged-line": "The adapter called a line damaged, or half a byte is missing. That line is "
    "left out.",
    "count-differs": "The number of codes told and the codes listed differ.",
    "monitor-not-of-this-engine": "A monitor you ticked does not belong to this kind of engine.",
}
MONITOR_TRIP_WORDS: Final = {
    "complete": "has finished on this trip",
    "incomplete": "can still run on this trip",
    "disabled": "cannot run on this trip, or the car has not got it",
}
