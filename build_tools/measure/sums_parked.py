"""Room reasoning: sums on a parked or cold car: draw, days, own loss, reserve, cold.

Pure arithmetic; every constant and table comes from the sum's file with its source.
`assets/measure/sums-parked.js` is its twin.
"""

from build_tools.knowledge.quantities import between
from build_tools.measure.sums_parts import Given, Interval, Outcome, exactly, to_fahrenheit

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
