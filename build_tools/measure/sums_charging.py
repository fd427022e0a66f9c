"""Room reasoning: sums on charging and connections: drops, output, chargers, charge time.

Pure arithmetic; every constant and table comes from the sum's file with its source.
`assets/measure/sums-charging.js` is its twin.
"""

from build_tools.knowledge.quantities import between
from build_tools.measure.sums_parts import Given, Interval, Outcome, SumRefusedError, exactly


def drop_limit(given: Given) -> Outcome:
    """Give the most volts a path may lose, and its resistance where the current is known.

    A cranking circuit may lose 0.20 V for each 100 A; the named paths have their own limit.
    """
    path, current = given.choices["path"], given.numbers.get("current")
    if path == "cranking-circuit":
        if current is None:
            raise SumRefusedError("current", "current-needed")
        limit = given.constants["per-hundred-amperes"] * current / 100
    else:
        limit = given.constants[path]
    outputs = {"limit": exactly(limit)}
    drop = given.numbers.get("drop")
    if drop is None:
        return Outcome("limit-only", outputs)
    if current is not None:
        outputs["resistance"] = exactly(drop / current * 1000)
    near = given.constants["near"]
    if drop <= limit - near:
        return Outcome("within", outputs)
    return Outcome("near" if drop <= limit + near else "over", outputs)


def alternator_output(given: Given) -> Outcome:
    """Compare measured alternator current with its rating."""
    share = given.numbers["measured"] / given.numbers["rated"] * 100
    enough = share >= given.constants["enough"]
    return Outcome("enough" if enough else "short", {"share": exactly(share)})


def _capacity(given: Given) -> float:
    capacity, reserve = given.numbers.get("capacity"), given.numbers.get("reserve")
    if capacity is not None:
        return capacity
    if reserve is not None:
        return reserve * given.constants["reserve-times"] + given.constants["reserve-plus"]
    raise SumRefusedError("capacity", "capacity-or-reserve")


def charge_time(given: Given) -> Outcome:
    """Give the least hours on a charger: capacity x missing share x 1.25 / amperes.

    The last fifth takes longer because the current tapers: `with-taper` adds 2 to 4 h.
    """
    capacity = _capacity(given)
    missing = 1 - given.numbers["charge"] / 100
    amperes = given.numbers["current"]
    hours = capacity * missing * given.constants["charge-factor"] / amperes
    less, more = given.constants["taper-least"], given.constants["taper-most"]
    gentle = amperes <= capacity * given.constants["gentle-share"]
    outputs = {
        "hours": exactly(hours),
        "with-taper": Interval(hours + (less + more) / 2, hours + less, hours + more),
        "gentle": exactly(capacity * given.constants["recommended-share"]),
    }
    return Outcome("gentle-rate" if gentle else "high-rate", outputs)


def drive_recharge(given: Given) -> Outcome:
    """Show what a drive puts back, and how long a drive would have to be.

    Charge gained = spare amperes x hours / 1.25. The spare current is what the
    alternator has left after the car's own use; it falls as the battery fills, so the
    drive that fills it is longer than this sum says.
    """
    capacity = _capacity(given)
    missing = capacity * (1 - given.numbers["charge"] / 100)
    spare = given.numbers.get("spare-current", given.constants["spare-current"])
    factor = given.constants["charge-factor"]
    gained = min(spare * given.numbers["minutes"] / 60 / factor, missing)
    needed = missing * factor / spare * 60
    after = given.numbers["charge"] + gained / capacity * 100
    outputs = {"gained": exactly(gained), "after": exactly(after), "needed": exactly(needed)}
    enough = after >= given.constants["enough"]
    return Outcome("reaches" if enough else "falls-short", outputs)


def charger_voltage(given: Given) -> Outcome:
    """Give the charger's main-stage volts for the battery's temperature.

    Volts = volts at 25 C + (25 - temperature) x 0.024 V, with 0.018 to 0.030 V as the
    range the sources span. The battery's own label wins. No answer exceeds the table `stop`,
    where charging is called too high, and none is given for a battery too hot to charge.
    """
    temperature = given.numbers["temperature"]
    if temperature > given.constants["too-hot"]:
        raise SumRefusedError("temperature", "too-hot")
    kind = given.choices.get("battery-type", "flooded")
    base = given.numbers.get("label-voltage")
    low = high = base
    if base is None or low is None or high is None:
        low, high = given.constants[f"{kind}-low"], given.constants[f"{kind}-high"]
        base = (low + high) / 2
    apart = given.constants["reference"] - temperature
    stop = between(given.tables["stop"], temperature)
    slopes = [given.constants[name] for name in ("slope-low", "slope-high")]
    wanted = base + apart * given.constants["slope"]
    outputs = {
        "voltage": Interval(
            min(wanted, stop),
            min(stop, *(low + apart * slope for slope in slopes)),
            min(stop, max(high + apart * slope for slope in slopes)),
        )
    }
    if wanted > stop:
        return Outcome("held", outputs)
    return Outcome("gel" if kind == "gel" else "plain", outputs)


def regulator_voltage(given: Given) -> Outcome:
    """Shift a regulator's set-point for temperature: 0.010 V lower for each degree C."""
    base = given.numbers.get("set-point", given.constants["set-point"])
    warmer = given.numbers["temperature"] - given.constants["reference"]
    volts, slack = base - warmer * given.constants["slope"], given.constants["tolerance"]
    return Outcome("plain", {"voltage": Interval(volts, volts - slack, volts + slack)})


def charge_moved(given: Given) -> Outcome:
    """Multiply current by time: ampere-hours and ampere-minutes."""
    minutes = given.numbers["minutes"]
    current = given.numbers["current"]
    outputs = {"hours": exactly(current * minutes / 60), "minutes": exactly(current * minutes)}
    return Outcome("moved", outputs)


def slow_charge_rate(given: Given) -> Outcome:
    """Give the slow charging current: 1 A for each positive plate of a cell.

    A cell has one negative plate more than positive ones: 9 plates hold 4 positive.
    """
    plates = given.numbers["plates"]
    return Outcome("rate", {"current": exactly((plates - 1) / 2)})
