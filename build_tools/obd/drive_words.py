"""Room obd: the parts of a drive plan, and the sentences of plans and of logs of drives, as data.

One entry per part and per note; whoever shows one fills nothing in. It plans and measures
nothing.
"""

from dataclasses import dataclass
from typing import Final

from build_tools.knowledge.sentences import forms


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
        "Park it for 8 hours or more, best overnight, at 40 to 95 \N{DEGREE SIGN}F (4 to 35 "
        "\N{DEGREE SIGN}C), and not in a heated garage.",
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
        ("outdoors", "idling-law"),
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
        "Hold a steady 45 to 60 mph in top gear or in Drive, where that is lawful and the traffic "
        "allows it.",
        "The catalyst, the sensors and often the vapor system are judged at a steady load.",
        10,
        "common-practice",
        ("lawful-speed",),
    ),
    Segment(
        "long-steady",
        "Longer highway stretch",
        "Keep a steady highway speed in top gear or in Drive for 20 minutes or more.",
        "A diesel's exhaust must stay hot for long to be judged.",
        20,
        "common-practice",
        ("lawful-speed",),
    ),
    Segment(
        "coast-down",
        "Let it slow down by itself",
        "On an exit ramp, lift off in gear. Let it slow from about 55 to between 30 and 40 mph, "
        "two or three times.",
        "With the fuel cut, the sensors show how far they can swing.",
        5,
        "common-practice",
        ("lawful-speed", "nobody-behind"),
    ),
    Segment(
        "stop-and-go",
        "Stops with short idles",
        "Drive in town with stops. At some of them let it idle for 30 seconds, as at a red light.",
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
CAUTION_WORDS: Final = forms("plan-caution")
PLAN_NOTE_WORDS: Final = forms("plan-note")
PLAN_STATE_WORDS: Final = forms("plan-state")
PLAN_LOAD_WORDS: Final = forms("plan-loads")
PLAN_STOP_WORDS: Final = forms("plan-stop")
LOG_STATE_WORDS: Final = forms("log-state")
TRIP_WORDS: Final = forms("trip-note")
