"""Room reasoning: sums on a car: charging and its connections, parked draw, own loss, cold.

Pure arithmetic; every constant and table comes from the file of the sum, with its source.
`assets/measure/sums-car.js` is its twin.
"""

from build_tools.knowledge.quantities import between
from build_tools.measure.sums_parts import (
    Given,
    Interval,
    Outcome,
    SumRefusedError,
    exactly,
    to_fahrenheit,
)


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


_HOURS_A_DAY = 24
_DAYS_A_MONTH = 30


def fuse_drop_current(given: Given) -> Outcome:
    """Turn millivolts across a fuse into milliamperes: current = volts / resistance.

    Only for fuses whose resistance is tabulated. One step of a meter's last digit is
    about 22 mA on a mini fuse of 15 A: it finds the circuit, it does not measure it.
    """
    milliohms = given.constants[given.choices["fuse"]]
    differs = given.constants["makers-differ"]
    step = given.constants["meter-step"]
    drop = given.numbers["drop"]
    # mV / mOhm = A; shown in mA.
    current = Interval(
        drop / milliohms * 1000,
        max(drop - step, 0) / (milliohms * (1 + differs)) * 1000,
        (drop + step) / (milliohms * (1 - differs)) * 1000,
    )
    verdict = "some" if drop >= step else "none"
    return Outcome(verdict, {"current": current})


def _total(given: Given) -> float | None:
    reserve, capacity = given.numbers.get("reserve"), given.numbers.get("capacity")
    if capacity is not None:
        return capacity
    return None if reserve is None else reserve * given.constants["reserve-times"]


def _usable(given: Given) -> Interval:
    stated = given.numbers.get("usable")
    if stated is not None:
        return exactly(stated)
    frost = given.choices.get("season") == "frost"
    low = given.constants["frost-share-low" if frost else "share"]
    high = given.constants["frost-share-high" if frost else "share"]
    missing = 1 - given.numbers.get("charge", 100) / 100
    least, most = max(low - missing, 0), max(high - missing, 0)
    total = _total(given)
    if total is None:
        # The bulletin's 20 to 30 Ah are its mild share of a typical battery from full.
        share = given.constants["share"]
        small = given.constants["typical-low"] / share * least
        large = given.constants["typical-high"] / share * most
        return Interval((small + large) / 2, small, large)
    return Interval((least + most) / 2 * total, least * total, most * total)


def days_until_no_start(given: Given) -> Outcome:
    """Give the days a parked car can stand: usable ampere-hours / (amperes x 24).

    Usable = 40 % of the run-down capacity in mild weather, 25 to 30 % in frost, less
    what was missing at the start. `with-own-loss` adds the battery's own loss, which
    matters at 50 mA or less.
    """
    usable = _usable(given)
    draw = given.numbers["draw"]
    daily = draw * _HOURS_A_DAY
    outputs = {
        "days": Interval(usable.value / daily, usable.low / daily, usable.high / daily),
        "daily": exactly(daily),
        "usable": usable,
    }
    total = _total(given)
    if total is not None and draw <= given.constants["own-loss-up-to"]:
        # Per month, as a share of the whole capacity.
        own = daily + total * given.constants["own-loss-month"] / 100 / _DAYS_A_MONTH
        outputs["with-own-loss"] = Interval(usable.value / own, usable.low / own, usable.high / own)
    if usable.value <= 0:
        return Outcome("already-low", outputs)
    return Outcome("days", outputs)


def own_loss(given: Given) -> Outcome:
    """Give the charge a disconnected battery loses by itself, doubling for each 10 C.

    Percent = rate for a month at 20 C x 2^((temperature - 20) / 10) x days / 30.
    """
    kind = given.choices.get("battery-type", "flooded")
    rate = given.constants["month-agm" if kind in ("agm", "gel") else "month-flooded"]
    warmer = given.numbers["temperature"] - given.constants["reference"]
    percent = rate * 2 ** (warmer / given.constants["doubles-every"])
    lost = min(percent * given.numbers["days"] / _DAYS_A_MONTH, 100)
    verdict = "small" if lost < given.constants["top-up-from"] else "top-up"
    return Outcome(verdict, {"lost": exactly(lost)})


def reserve_capacity(given: Given) -> Outcome:
    """Turn reserve capacity in minutes into ampere-hours, in its three meanings."""
    reserve = given.numbers["reserve"]
    outputs = {
        "at-25-amperes": exactly(reserve * 25 / 60),
        "twenty-hour": exactly(
            reserve * given.constants["twenty-hour-times"] + given.constants["twenty-hour-plus"]
        ),
        "run-down": exactly(reserve * given.constants["run-down-times"]),
    }
    return Outcome("three", outputs)


def run_time(given: Given) -> Outcome:
    """Give the minutes a battery carries a steady load: Peukert's rule with rated hours.

    t = H x (C / (I x H))^k. Below the 20 h current the ampere-hours are held at C.
    `uncorrected` is the form C / I^k that some pages print; it forgets the rated hours.
    """
    capacity, current = given.numbers["capacity"], given.numbers["current"]
    hours = given.numbers.get("rated-hours", given.constants["rated-hours"])
    kind = given.choices.get("battery-type", "flooded")
    power = given.constants["exponent-agm" if kind in ("agm", "gel") else "exponent-flooded"]
    time = hours * (capacity / (current * hours)) ** power
    delivered = min(current * time, capacity)
    outputs = {
        "minutes": exactly(delivered / current * 60),
        "delivered": exactly(delivered),
        "uncorrected": exactly(capacity / current**power),
    }
    return Outcome("minutes", outputs)


def cold_margin(given: Given) -> Outcome:
    """Compare the power a full battery has in the cold with what the engine asks for."""
    fahrenheit = to_fahrenheit(given.numbers["temperature"])
    available = between(given.tables["available"], fahrenheit)
    needed = between(given.tables["needed"], fahrenheit)
    outputs = {
        "available": exactly(available),
        "needed": exactly(needed),
        "margin": exactly(available / needed),
    }
    thin = available / needed < given.constants["thin-below"]
    return Outcome("thin" if thin else "fair", outputs)
