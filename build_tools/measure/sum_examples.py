"""Room 5: what to put into each sum for the worked example of its page.

Only inputs stand here, invented or from a publication the sum cites. The answers are worked
out when the page is made, never written down.
"""

from collections.abc import Mapping
from typing import Final

Given = str | tuple[str, str]

EXAMPLES: Final[Mapping[str, Mapping[str, Given]]] = {
    "charge-from-voltage": {
        "voltage": ("12.35", "V"),
        "battery-type": "flooded",
        "rest": "overnight",
    },
    "gravity-corrected": {"gravity": ("1.250", "sg"), "temperature": ("90", "degF")},
    "cell-spread": {
        "cell-1": ("1.265", "sg"),
        "cell-2": ("1.260", "sg"),
        "cell-3": ("1.262", "sg"),
        "cell-4": ("1.210", "sg"),
        "cell-5": ("1.264", "sg"),
        "cell-6": ("1.263", "sg"),
        "charged": "fully-charged",
    },
    "freezing-point": {"charge": ("50", "percent"), "temperature": ("-20", "degF")},
    "volts-from-cell": {"cell-voltage": ("2.12", "V")},
    "load-test": {
        "rated-cca": ("500", "cca"),
        "temperature": ("35", "degF"),
        "resting-voltage": ("12.6", "V"),
        "loaded-voltage": ("9.4", "V"),
    },
    "hand-tester": {"rated-cca": ("800", "cca"), "temperature": ("0", "degF")},
    "internal-resistance": {
        "resting-voltage": ("12.6", "V"),
        "loaded-voltage": ("9.6", "V"),
        "current": ("300", "A"),
        "rated-cca": ("600", "cca"),
    },
    "rating-converted": {"rating": ("360", "A"), "scale": "din"},
    "rating-ratio": {
        "measured": ("380", "A"),
        "measured-scale": "sae",
        "rated": ("500", "A"),
        "rated-scale": "sae",
    },
    "drop-limit": {"path": "cranking-circuit", "current": ("180", "A"), "drop": ("0.3", "V")},
    "alternator-output": {"measured": ("42", "A"), "rated": ("45", "A")},
    "charge-time": {"reserve": ("120", "min"), "charge": ("25", "percent"), "current": ("40", "A")},
    "drive-recharge": {
        "capacity": ("60", "Ah"),
        "charge": ("50", "percent"),
        "minutes": ("30", "min"),
    },
    "charger-voltage": {"label-voltage": ("14.4", "V"), "temperature": ("0", "degC")},
    "regulator-voltage": {"temperature": ("40", "degC")},
    "charge-moved": {"current": ("60", "A"), "minutes": ("30", "min")},
    "slow-charge-rate": {"plates": ("9", "count")},
    "fuse-drop-current": {"drop": ("1.0", "mV"), "fuse": "mini-15"},
    "days-until-no-start": {"draw": ("50", "mA"), "reserve": ("100", "min")},
    "own-loss": {"battery-type": "flooded", "temperature": ("20", "degC"), "days": ("60", "day")},
    "reserve-capacity": {"reserve": ("100", "min")},
    "run-time": {"capacity": ("60", "Ah"), "current": ("25", "A")},
    "cold-margin": {"temperature": ("0", "degF")},
}
