"""Room reasoning: plain sentences about logs and trips.

One sentence per id. It measures nothing.
"""

from __future__ import annotations

from typing import Final

LOG_STATE_WORDS: Final = {
    "ok": "The log was read.",
    "empty": "There is nothing in this file.",
    "binary": "This is no text. Export the log as CSV and try again.",
    "too-large": "This file is too large to read here. Export a shorter trip.",
    "one-column": "No columns were found in this text.",
    "no-rows": "There is a header but no rows of numbers.",
    "no-time": "No column of time was found. Say which one it is.",
    "too-short": "The log holds fewer than two usable rows.",
    "engine-not-seen": "The engine is never seen running. Say which column is engine speed.",
}
TRIP_WORDS: Final = {
    "met": "met",
    "not-met": "not met",
    "unknown": "cannot be told from this log",
    "could": "This trip had what the monitor usually needs. That does not prove it ran.",
    "could-not": "This trip lacked something the monitor usually needs.",
    "proxy": "These figures stand in for the rule about drives that count. Their limits are from "
    "memory.",
    "low-seen": "The voltage fell below 11 V with the engine running. That is consistent with "
    "self-tests being held, not proof of it.",
    "none-seen": "No low voltage was seen while the engine ran.",
    "voltage-unknown": "Without engine speed and voltage, cranking cannot be told from running.",
    "unit-assumed": "The log names no unit here, so one was assumed. Check it.",
    "speed-strict": "Whole km/h from 41 are surely above 25 mph.",
    "speed-lenient": "40 km/h may be just above or below 25 mph.",
    "start-not-seen": "The log begins with the engine running, so its start is taken as the start.",
}
