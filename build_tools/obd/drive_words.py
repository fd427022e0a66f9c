"""Room obd: the parts of a drive plan, and the sentences of plans and of logs of drives, as data.

One entry per part and per note; whoever shows one fills nothing in. It plans and measures
nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Segment:
    """Describe one part of a trip.

    `minutes` with its mark; None where no length is meant. `cautions` stand before the part.
    """

    id: str
    title: str
    do: str
    why: str
    minutes: int | None
    source: str
    cautions: tuple[str, ...] = ()


# In the order in which they are driven. Lengths are common practice; vehicles differ.
SEGMENTS: Final = (
    Segment(
        "soak",
        "Let it stand",
        "Leave the car standing with the engine off, best overnight.",
        "Some tests ask for a cold engine, as warm as the air and no warmer.",
        480,
        "common-practice",
    ),
    Segment(
        "first-idle",
        "Start and let it idle",
        "Start the engine and let it idle without touching the pedal.",
        "Sensor heaters and the air pump are looked at in the first minutes.",
        3,
        "common-practice",
        ("outdoors",),
    ),
    Segment(
        "gentle",
        "Gentle driving in town",
        "Drive gently, with soft starts and no hard acceleration.",
        "The engine warms evenly, and the vapor test often runs now.",
        10,
        "common-practice",
    ),
    Segment(
        "steady",
        "Steady road speed",
        "Hold a steady 50 to 60 mph where that is lawful and the traffic allows it.",
        "The catalyst, the sensors and the exhaust recirculation are judged at a steady load.",
        10,
        "common-practice",
        ("lawful-speed",),
    ),
    Segment(
        "long-steady",
        "Longer motorway stretch",
        "Keep a steady motorway speed for 20 minutes or more.",
        "A diesel's exhaust must stay hot for long to be judged.",
        20,
        "common-practice",
        ("lawful-speed",),
    ),
    Segment(
        "coast-down",
        "Let it slow down by itself",
        "Lift off in gear and let the car slow from about 60 to 20 mph, two or three times.",
        "With the fuel cut, the sensors show how far they can swing.",
        5,
        "common-practice",
        ("lawful-speed", "brake-when-needed"),
    ),
    Segment(
        "stop-and-go",
        "Stops with short idles",
        "Drive in town with stops, idling for 30 seconds at some of them.",
        "A drive that counts must hold one unbroken idle of 30 seconds.",
        10,
        "common-practice",
    ),
    Segment(
        "park",
        "Park and leave it",
        "Switch off and leave the car standing overnight.",
        "Some cars test the vapor system only after the key is off.",
        None,
        "common-practice",
    ),
)
CAUTION_WORDS: Final = {
    "outdoors": "Idle outdoors only: exhaust gas kills in a closed space.",
    "lawful-speed": "Never drive faster than the law and the traffic allow. Leave this part out "
    "instead.",
    "brake-when-needed": "Stay in gear, look behind you, and brake whenever the traffic asks.",
    "handbook-wins": "If the handbook gives a drive cycle for this car, drive that one instead.",
    "no-tool-while-driving": "Do not look at a tool while you drive. Let it log, or let a "
    "passenger read.",
    "do-not-clear": "Do not clear codes or disconnect the battery now: every monitor would start "
    "again, and the learned fuel trims are lost. Lost power can also take what idle and gearbox "
    "have learned; clearing with a reader mostly leaves those (from memory).",
}
PLAN_NOTE_WORDS: Final = {
    "loads-off-first": "Keep lamps, heater fan, defroster and air conditioning off at first. The "
    "supply is not proven, and a weak one may not carry them at idle.",
    "differs-from-official": "One official cycle (Ontario, 2013) idles with large loads on. Ours "
    "leaves them off until the supply is proven.",
    "official-idles-with-loads": "The supply is sound. One official cycle (Ontario, 2013) idles "
    "with large loads on; the handbook decides.",
    "fuel-to-half": "Bring the tank to between a quarter and three quarters before the soak, and "
    "do not refuel during the plan.",
    "fuel-unknown": "Look at the fuel level first: between a quarter and three quarters is best.",
    "too-cold": "It is colder than about 20 °F (-7 °C). Some tests are then held (from memory). "
    "Wait for milder days.",
    "too-hot-for-vapor": "It is warmer than 95 °F (35 °C). The vapor test may then wait (from "
    "memory).",
    "lamp-on": "The engine lamp is on. Settle its code first; driving alone will not help.",
    "pending-code": "A code is pending. It can hold other monitors; find its reason first.",
    "late-ones": "Some monitors wait for others, so they may finish only on a later day.",
    "several-cold-starts": "What counts is separate cold starts and the right conditions, not "
    "miles alone.",
    "read-again": "Read the monitors after each day and stop when enough are complete.",
    "supply-failing": "The supply is failing. Mend it first: the car may stop, and tests may be "
    "held.",
    "no-part-known": "For these monitors we know no drive; the handbook or a workshop may.",
    "readout-first": "Read the monitors first. A plan needs to know which are incomplete.",
}
HINT_WORDS: Final = {
    "recent-reset": "Few warm-ups and little distance since codes were cleared or power was lost. "
    "The monitors have not had their chance yet.",
    "blocked": "There were plenty of warm-ups and distance, and it is still incomplete. Something "
    "holds it: fuel level, voltage, a cool engine or a pending code.",
    "counters-mixed": "One counter is high and the other low: many short trips, or a few long "
    "ones. That fits neither a fresh reset nor a block. Read both again after a week.",
    "nearly-all-open": "Nearly every monitor is incomplete at once, as after a cleared memory. "
    "Read the counters since clearing to be sure.",
    "keeps-resetting": "The counters fall back though nobody cleared them. Look at the memory "
    "fuse, the clamps and the voltage while cranking before any part.",
}
RUN_STATE_WORDS: Final = {
    "ok": "The likeliest reasons first. None is certain.",
    "no-readout": "Read the monitors first.",
    "contradictory": "What was read does not fit together, so nothing is ranked. Read again.",
}
LOG_STATE_WORDS: Final = {
    "ok": "The log was read.",
    "empty": "There is nothing in this file.",
    "binary": "This is no text. Export the log as CSV and try again.",
    "too-large": "This file is too large to read here. Export a shorter trip.",
    "one-column": "No columns were found in this text.",
    "no-rows": "There is a header but no rows of numbers.",
    "no-time": "No column of time was found. Say which one it is.",
    "date-order": "The dates can be read with the day or the month first. Write them as "
    "year-month-day.",
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
    "unit-asked": "The log names no unit here, and two are common. Say which it is; until then it "
    "is left out.",
    "sparse": "The log has a value only every few seconds. What lies between was not seen, so it "
    "is not counted either way. Log once a second.",
    "newest-first": "The newest row stood first. The rows were put in order.",
    "unit-assumed": "The log names no unit here, so one was assumed. Check it.",
    "speed-strict": "Whole km/h from 41 are surely above 25 mph.",
    "speed-lenient": "40 km/h may be just above or below 25 mph.",
    "start-not-seen": "The log begins with the engine running, so its start is taken as the start.",
}
