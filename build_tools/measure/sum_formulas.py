"""Room 5: say in words and symbols what each formula of the sums does.

The names in the symbols are those of the sum's inputs and constants, so that a reader finds
each figure in the tables below. The arithmetic itself is in `reasoning/sums_*.py`.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class FormulaWords:
    """Say a formula: sentences, then lines of symbols."""

    words: str
    symbols: tuple[str, ...]


# Written in plain signs here, shown in the signs of arithmetic.
_SIGNS: Final = {
    " - ": " \N{MINUS SIGN} ",
    " * ": " \N{MULTIPLICATION SIGN} ",
    " / ": " \N{DIVISION SIGN} ",
}


def _said(words: str, *symbols: str) -> FormulaWords:
    shown = []
    for line in symbols:
        signed = line
        for plain, sign in _SIGNS.items():
            signed = signed.replace(plain, sign)
        shown.append(signed)
    return FormulaWords(words, tuple(shown))


FORMULA_WORDS: Final = {
    "charge-from-voltage": _said(
        "Read the charge off the table of the battery's type, with straight lines between its "
        "rows. Without a type the four types are averaged by their shares, and the range spans "
        "them all. The straight-line rule stands beside it for comparison.",
        "charge = table(volts)",
        "range = table(volts ± widen volts) ± charge band",
        "straight-line rule = (volts - linear empty) / (linear full - linear empty)",
    ),
    "gravity-corrected": _said(
        "Add one step for every ten degrees Fahrenheit above the reference, and take one off for "
        "every ten below. Read the charge off the table. Six cells in a row give the volts.",
        "corrected = reading + step * (temperature - 80 °F) / 10 °F",
        "charge = table(corrected)",
        "volts = 6 * (corrected + volts offset)",
    ),
    "cell-spread": _said(
        "Take the lowest of the cells from the highest.", "spread = highest cell - lowest cell"
    ),
    "freezing-point": _said(
        "Read the gravity off the charge, unless it was measured. Read the freezing point off "
        "the gravity. For weak acid the warmer of two tables counts.",
        "gravity = table(charge)",
        "freezes = table(gravity)",
    ),
    "volts-from-cell": _said(
        "Six equal cells stand in a row, so the volts of one are taken six times.",
        "battery = 6 * cell",
    ),
    "load-test": _said(
        "The load comes from the cold cranking amperes, or from the ampere-hours when those are "
        "not known. The least volts come from the table, by the battery's temperature.",
        "load = share of CCA * CCA, or times capacity * Ah",
        "least volts = table(temperature)",
    ),
    "hand-tester": _said(
        "Below the limit of warmth the rating to read the tester at falls in steps. The tester's "
        "load is then compared with half of that rating, the proper load.",
        "used = CCA - derate by * (derate below - temperature) / derate step",
        "share = load / (used / 2)",
    ),
    "internal-resistance": _said(
        "Ohm's law on two readings: the fall in volts over the current that caused it. The label "
        "gives a bound for a cold battery.",
        "resistance = (volts at rest - volts under load) / current",
        "label allows = (label rest - label floor) / CCA",
    ),
    "rating-converted": _said(
        "Multiply the figure by the factor of its scale; DIN also gets a fixed part. The doubt "
        "makes the range.",
        "SAE = din times * DIN + din plus",
        "SAE = times * rating, for the other scales",
        "range = SAE ± doubt",
    ),
    "rating-ratio": _said(
        "Divide the tester's figure by the label's. Where the scales differ, both are brought to "
        "the SAE scale first, and the range carries the doubt of that.",
        "ratio = measured / rated",
    ),
    "drop-limit": _said(
        "Any cranking cable may lose volts in step with its current. The named paths each have "
        "their own limit. With drop and current known, their quotient is the resistance.",
        "limit = per hundred amperes * current / 100 A",
        "resistance = drop / current",
    ),
    "alternator-output": _said(
        "Divide what was measured by what the label promises.", "share = measured / rated"
    ),
    "charge-time": _said(
        "What is missing, times the losses, over the charger's current. The slow last part is "
        "added on top. Where only RC is known, the ampere-hours are estimated from it.",
        "hours = capacity * missing share * charge factor / current",
        "with the slow last part = hours + taper least to hours + taper most",
        "capacity = reserve times * RC + reserve plus",
    ),
    "drive-recharge": _said(
        "The current left over for the battery, times the time, less the losses. The other way "
        "round it gives the drive that would be needed.",
        "gained = current * time / charge factor",
        "drive needed = missing charge * charge factor / current",
        "capacity = reserve times * RC + reserve plus",
    ),
    "charger-voltage": _said(
        "Start from the voltage at the reference temperature, and add a little for every degree "
        "the battery is colder. Stop where charging is called too high.",
        "volts = volts at reference + (reference - temperature) * slope, at most the stop line",
    ),
    "regulator-voltage": _said(
        "Start from the set-point, and take off a little for every degree it is warmer.",
        "volts = set point - (temperature - reference) * slope",
        "range = volts ± tolerance",
    ),
    "charge-moved": _said("Current times time is charge.", "charge = current * time"),
    "slow-charge-rate": _said(
        "A cell has one negative plate more than positive ones. One ampere goes to each positive "
        "plate.",
        "current = (plates - 1) / 2",
    ),
    "fuse-drop-current": _said(
        "Ohm's law on the fuse: the drop over its resistance. One step of the meter's last digit "
        "and what fuses of different makers differ by make the range.",
        "current = drop / resistance of the fuse",
        "range = (drop ± meter step) / (resistance * (1 ± makers differ))",
    ),
    "days-until-no-start": _said(
        "What the battery can give and still start the car, over what the car draws in a day. "
        "For a small draw the battery's own loss is counted too.",
        "days = usable / (draw * 24 h)",
        "usable = (share - missing share) * capacity",
        "capacity = reserve times * RC, unless the ampere-hours are given",
    ),
    "own-loss": _said(
        "A share is lost each month, and the rate doubles with every step of warmth.",
        "lost = month * 2^((temperature - reference) / doubles every) * days / 30",
    ),
    "reserve-capacity": _said(
        "One figure on the label, three ways to count ampere-hours from it.",
        "at 25 A = RC * 25 A / 60 min",
        "20-hour estimate = RC * twenty hour times + twenty hour plus",
        "small draw to empty = RC * run down times",
    ),
    "run-time": _said(
        "Peukert's rule with the rated hours in it. Below the rated current the ampere-hours are "
        "held at the label's figure.",
        "time = hours * (capacity / (current * hours)) ^ exponent",
    ),
    "cold-margin": _said(
        "Read off two tables, by temperature, and divide.",
        "margin = power the battery has / power the engine needs",
    ),
}

# What the two columns of a printed table are.
TABLE_COLUMNS: Final = {
    "charge-flooded": ("Volts at rest, flooded (V)", "Charge (%)"),
    "charge-efb": ("Volts at rest, EFB or calcium (V)", "Charge (%)"),
    "charge-agm": ("Volts at rest, AGM (V)", "Charge (%)"),
    "charge-gel": ("Volts at rest, gel (V)", "Charge (%)"),
    "charge-by-gravity-1265": ("Gravity, full at 1.265", "Charge (%)"),
    "charge-by-gravity-1280": ("Gravity, full at 1.280", "Charge (%)"),
    "gravity-by-charge": ("Charge (%)", "Gravity"),
    "freezes-by-gravity": ("Gravity", "Freezes at (°F)"),
    "freezes-when-weak": ("Gravity of weak acid", "Freezes at (°F)"),
    "stop": ("Battery temperature (°C)", "Most volts we name (V)"),
    "least-volts": ("Battery temperature (°F)", "Least volts (V)"),
    "available": ("Temperature (°F)", "Power a full battery has (%)"),
    "needed": ("Temperature (°F)", "Power the engine needs (%)"),
}
