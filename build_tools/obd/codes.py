"""Room reasoning: trouble codes, their form and whether they point back to the supply.

Turns bytes and typed text into a code, and sorts the codes of one short table. Titles are our
own words; that a code often follows low voltage is common practice without a source. About a
code that is not in the table nothing is said. `codes.js` does the same.
"""

import re
from dataclasses import dataclass
from typing import Final

_LETTERS: Final = "PCBU"
_CODE: Final = re.compile(r"([PCBU])([0-3])([0-9A-F]{3})")
_TYPED: Final = re.compile(r"([PCBU])([0-3O])([0-9A-FO]{3})(?:-?[0-9A-F]{2})?")
_BYTES: Final = re.compile(r"(?:0X)?([0-9A-F]{2})[ ,]*(?:0X)?([0-9A-F]{2})")
# Written out, because the meaning of \s differs between Python and browsers.
_SPACE: Final = " \t\r\n\f\v"
_DROPPED: Final = re.compile(r"[ \t\r\n\f\v:._]+")
LONGEST_TYPED: Final = 40

RELATIONS: Final = ("supply", "sometimes", "not-supply", "not-listed")


@dataclass(frozen=True)
class Recognised:
    """What a typed text could mean as a code.

    `code` is set when the form is right; `suggestion` when a likely slip (the letter O for
    the digit 0) was mended, which the reader should confirm. Both None: no code.
    """

    code: str | None
    suggestion: str | None
    form: str


@dataclass(frozen=True)
class CodeClass:
    """Say how a code relates to the supply.

    `relation`: "supply" (lead back to the supply checks), "sometimes" (prove the supply
    first, it may be innocent), "not-supply", "not-listed" (nothing is guessed).
    """

    code: str
    title: str | None
    relation: str
    leads_to: str | None
    aspect: str | None
    note: str | None


def code_from_bytes(high: int, low: int) -> str | None:
    """Decode two bytes as SAE J1979 does; 00 00 is padding and gives None.

    Two top bits: letter P C B U; next two: first digit; then three hex digits, in capitals.
    """
    if high == 0 and low == 0:
        return None
    return f"{_LETTERS[high >> 6]}{high >> 4 & 3}{high & 0xF:X}{low:02X}"


def recognise_code(text: str) -> Recognised:
    """Recognise a code typed by hand, as letters or as two bytes.

    A failure-type ending as in P0420-00 is dropped. Never raises.
    """
    if len(text) > LONGEST_TYPED or not text.isascii():
        return Recognised(None, None, "none")
    plain = text.strip(_SPACE).upper()
    by_bytes = _BYTES.fullmatch(plain)
    if by_bytes:
        high, low = (int(part, 16) for part in by_bytes.groups())
        return Recognised(code_from_bytes(high, low), None, "bytes")
    typed = _TYPED.fullmatch(_DROPPED.sub("", plain))
    if not typed:
        return Recognised(None, None, "none")
    letter, digit, rest = typed.groups()
    mended = f"{letter}{digit}{rest}".replace("O", "0")
    if "O" in digit + rest:
        return Recognised(None, mended, "slip")
    return Recognised(mended, None, "code")


def code_number(code: str) -> int | None:
    """Return the code as a number for ranges, or None if the text is no code in full form."""
    match = _CODE.fullmatch(code)
    if not match:
        return None
    letter, digit, rest = match.groups()
    return _LETTERS.index(letter) << 14 | int(digit) << 12 | int(rest, 16)


def in_range(code: str, first: str, last: str) -> bool:
    """Tell whether a code lies in a range of codes, both ends included."""
    number, low, high = code_number(code), code_number(first), code_number(last)
    if number is None or low is None or high is None:
        return False
    return low <= number <= high


def classify_code(code: str) -> CodeClass:
    """Sort a code by the table; a code that is not listed says nothing about the supply."""
    row = CODE_TABLE.get(code)
    if row is None:
        return CodeClass(code, None, "not-listed", None, None, None)
    title, relation, aspect, note = row
    leads_to = "supply-checks" if relation in {"supply", "sometimes"} else None
    return CodeClass(code, title, relation, leads_to, aspect, note)


_LOST: Final = "Low voltage can silence a module; so can its wiring."
_CAP: Final = "This is the lamp for the fuel cap. It has nothing to do with charging."
_MEMORY: Final = "Set when the memory supply was lost, as at a battery change."
_FROM_MEMORY: Final = "Our reading of this code is from memory."
# code: (title in our words, relation, aspect of the supply, note)
CODE_TABLE: Final[dict[str, tuple[str, str, str | None, str | None]]] = {
    "P0560": ("System voltage out of range", "supply", "charging", None),
    "P0561": ("System voltage unsteady", "supply", "charging", None),
    "P0562": ("System voltage low", "supply", "charging", None),
    "P0563": ("System voltage high", "supply", "charging", "Too much voltage, not too little."),
    "P0620": ("Generator control circuit", "supply", "charging", None),
    "P0621": ("Generator lamp wire (terminal L)", "supply", "charging", None),
    "P0622": ("Generator field wire (terminal F)", "supply", "charging", None),
    "P0623": ("Generator lamp control circuit", "supply", "charging", None),
    "P0624": ("Fuel cap lamp control circuit", "not-supply", None, _CAP),
    "P0625": ("Generator field circuit reads low", "supply", "charging", None),
    "P0626": ("Generator field circuit reads high", "supply", "charging", None),
    "P0685": ("Engine computer's main relay control open", "supply", "connection", None),
    "P0686": ("Engine computer's main relay control low", "supply", "connection", None),
    "P0687": ("Engine computer's main relay control high", "supply", "connection", None),
    "P0688": ("Main relay's output sensed as open", "supply", "connection", None),
    "P0689": ("Main relay's output reads low", "supply", "connection", None),
    "P0690": ("Main relay's output reads high", "supply", "connection", None),
    "P2502": ("Charging system voltage", "supply", "charging", None),
    "P2503": ("Charging system voltage low", "supply", "charging", None),
    "P2504": ("Charging system voltage high", "supply", "charging", None),
    "U0001": ("High-speed data bus", "supply", "battery", _LOST),
    "U0073": ("Data bus switched off", "supply", "battery", _LOST),
    "U0100": ("No word from the engine computer", "supply", "battery", _LOST),
    "U0101": ("No word from the gearbox computer", "supply", "battery", _LOST),
    "U0121": ("No word from the brake computer", "supply", "battery", _LOST),
    "U0140": ("No word from the body computer", "supply", "battery", _LOST),
    "U3003": ("Battery voltage", "supply", "battery", _FROM_MEMORY),
    "U3006": ("Control module's power input", "supply", "connection", _FROM_MEMORY),
    "P0601": ("Computer memory check sum", "not-supply", None, None),
    "P0603": ("Computer's kept memory lost", "supply", "battery", _MEMORY),
    "P0605": ("Computer's fixed memory", "not-supply", None, None),
    "P0606": ("Computer's processor", "not-supply", None, None),
    "P0607": ("Computer's performance", "not-supply", None, None),
    "P0615": ("Starter relay circuit", "sometimes", "battery", None),
    "P0627": ("Fuel pump control circuit open", "sometimes", "connection", None),
    "P0641": ("Sensor supply A", "sometimes", "battery", None),
    "P0651": ("Sensor supply B", "sometimes", "battery", None),
    "P0300": ("Misfires on several or changing cylinders", "sometimes", "battery", None),
    "P0335": ("Crankshaft sensor circuit", "sometimes", "battery", None),
    "P0506": ("Idle slower than wanted", "sometimes", "battery", "Idle may relearn by itself."),
    "P0507": ("Idle faster than wanted", "sometimes", "battery", "Idle may relearn by itself."),
    "P2610": ("Engine-off timer", "sometimes", "battery", None),
    "P0440": ("Vapour system", "not-supply", None, None),
    "P0441": ("Vapour purge flow wrong", "not-supply", None, None),
    "P0442": ("Small vapour leak", "not-supply", None, None),
    "P0443": ("Purge valve circuit", "sometimes", "battery", None),
    "P0444": ("Purge valve circuit open", "sometimes", "battery", None),
    "P0445": ("Purge valve circuit shorted", "sometimes", "battery", None),
    "P0446": ("Vapour vent control circuit", "sometimes", "battery", None),
    "P0447": ("Vapour vent control open", "sometimes", "battery", None),
    "P0448": ("Vapour vent control shorted", "sometimes", "battery", None),
    "P0449": ("Vapour vent valve circuit", "sometimes", "battery", None),
    "P0450": ("Vapour pressure sensor", "not-supply", None, None),
    "P0451": ("Vapour pressure sensor out of range", "not-supply", None, None),
    "P0452": ("Vapour pressure sensor reads low", "not-supply", None, None),
    "P0453": ("Vapour pressure sensor reads high", "not-supply", None, None),
    "P0454": ("Vapour pressure sensor comes and goes", "not-supply", None, None),
    "P0455": ("Large vapour leak", "not-supply", None, None),
    "P0456": ("Very small vapour leak", "not-supply", None, None),
    "P0457": ("Vapour leak, cap loose or off", "not-supply", None, None),
}
