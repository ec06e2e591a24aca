"""Indoor temperature and humidity month by month: ISO 13788 classes, ASHRAE 160, named conditions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from reviewer.citations import COMMON_PRACTICE, Citation
from reviewer.errors import nearest
from reviewer.humidity import saturation_pressure
from reviewer.physics.basics import Array, within
from reviewer.units import show

HEATING = 21.1
"""°C (70 °F). ASHRAE 160, 4.2."""
COOLING = 23.9
"""°C (75 °F). As above."""
WARM = 18.3
"""°C outdoors, above which buildings aren't heated (ASHRAE 160, Table 4.2)."""
FLOATING = 2.8
"""K that an unheated, uncooled building is warmer than outdoors in warm months (as above)."""
MOST_HUMIDITY = 0.95
"""Monthly mean that no room passes here (ISO 13788 gives no cap; common practice, no published source)."""
COOLED_HUMIDITY = 0.60
"""Most relative humidity while cooling runs (ASHRAE 62.1, 5.9 in 2016: 65 %, and usual design: 60 %; from
memory)."""

CLASS_EXCESS: dict[int, float] = {1: 270.0, 2: 540.0, 3: 810.0, 4: 1080.0, 5: 1360.0}
"""Humidity class to the upper limit of vapor pressure excess in Pa at 0 °C outdoors and below. ISO 13788,
Annex A, Figure A.1. 1 storage; 2 offices, shops, by the 2012 edition dwellings with normal occupancy and
ventilation; 3 dwellings with unknown or low occupancy; 4 sports halls, kitchens, canteens; 5 laundries,
breweries, pools."""

_ISO = Citation("ISO 13788", "2012", "Annex A", "standard", "memory")
_ASHRAE_160 = Citation("ASHRAE 160", "2016", "4.2 and 4.3", "standard", "memory")
_APPLICATIONS = Citation("ASHRAE Handbook—HVAC Applications", "2019", "", "handbook", "memory")


def class_excess(humidity_class: int, t_out: ArrayLike) -> Array:
    """Vapor pressure excess of indoor over outdoor air in Pa: the upper limit of an ISO 13788 humidity class.

    `t_out` °C, any shape. Constant at 0 °C and below, linear to 0 at 20 °C. The 2001 edition multiplies it by
    1.10 where the class isn't measured.

    >>> class_excess(3, [-5.0, 0.0, 10.0, 25.0]).tolist()
    [810.0, 810.0, 405.0, 0.0]
    """
    if humidity_class not in CLASS_EXCESS:
        raise ValueError(f"a humidity class is 1 to 5, not {humidity_class}")
    return CLASS_EXCESS[humidity_class] * _fading(t_out)


def _fading(t_out: ArrayLike) -> Array:
    return 1.0 - np.clip(np.asarray(t_out, dtype=float), 0.0, 20.0) / 20.0


def ashrae160_humidity(t_out: ArrayLike) -> Array:
    """Indoor relative humidity, 0–1, by the simplified method of ASHRAE 160-2009 and 2016, 4.3.1.

    `t_out`: daily (here monthly) mean outdoors in °C: 40 % up to −10 °C, then 1 % a kelvin, 70 % from 20 °C.

    >>> ashrae160_humidity([-20, 0, 25]).round(2).tolist()
    [0.4, 0.5, 0.7]
    """
    return np.clip(0.50 + 0.01 * np.asarray(t_out, dtype=float), 0.40, 0.70)


MOISTURE_BY_BEDROOMS: dict[int, float] = {1: 0.9e-4, 2: 1.4e-4, 3: 1.6e-4, 4: 1.7e-4}
"""Bedrooms to moisture generation of a dwelling in kg/s (8, 12, 14, 15 L a day). ASHRAE 160, 4.3.2."""
MOISTURE_EACH_MORE = 0.1e-4
"""kg/s for each further bedroom."""
MOISTURE_PRESSURE = 1.36e5
"""Pa·m³/kg, vapor pressure of 1 kg/m³ of vapor near 22 °C (ASHRAE 160, 4.3.2)."""
AIR_CHANGES_160: dict[str, float] = {"standard": 0.2, "airtight": 0.1}
"""Air changes an hour where the ventilation isn't known (ASHRAE 160, 4.3.2)."""


def ashrae160_vapor_pressure(
    p_out: ArrayLike, bedrooms: int, volume: float, air_changes: float = AIR_CHANGES_160["standard"]
) -> Array:
    """Indoor vapor pressure in Pa by the intermediate method of ASHRAE 160-2009, 4.3.2: p_o + c·m/Q.

    `p_out` Pa, any shape; `volume` m³; `air_changes` an hour. Without dehumidification.

    >>> (ashrae160_vapor_pressure(400.0, 3, 400.0) - 400.0).round(1).item()
    979.2
    """
    if bedrooms < 1:
        raise ValueError("a dwelling has one bedroom or more")
    flow = within("volume", volume, 10.0, 1e6, "m³") * within("air changes", air_changes, 0.01, 20.0) / 3600.0
    moisture = MOISTURE_BY_BEDROOMS.get(
        bedrooms, MOISTURE_BY_BEDROOMS[4] + (bedrooms - 4) * MOISTURE_EACH_MORE
    )
    return np.asarray(p_out, dtype=float) + MOISTURE_PRESSURE * moisture / flow


@dataclass(frozen=True, slots=True)
class IndoorConditions:
    """Indoor air month by month. Arrays [..., 12], January first."""

    name: str
    temperature: Array
    """°C."""
    vapor_pressure: Array
    """Pa."""
    humidity: Array
    """Relative, 0–1."""
    how: str
    """How it was chosen, in a few sentences for the report."""
    source: Citation


@dataclass(frozen=True, slots=True)
class Condition:
    """A named indoor condition."""

    about: str
    """What it takes and why, a sentence or two."""
    source: Citation
    heating: float | None = HEATING
    """°C; None: as outdoors."""
    cooling: float = COOLING
    """°C where the building is cooled."""
    excess: float = 0.0
    """Vapor pressure over outdoors in Pa at 0 °C and below, fading to 0 at 20 °C."""
    low: float = 0.0
    """Least relative humidity that is kept (humidifiers, or a floor for the estimate)."""
    high: float = MOST_HUMIDITY
    """Most relative humidity (ventilation in cold months)."""
    kept: bool = False
    """Temperature and humidity are kept all year whatever the weather."""
    method: Literal["excess", "ASHRAE 160"] = "excess"


def _iso_class(n: int) -> Condition:
    return Condition(
        f"Vapor pressure over outdoors at the upper limit of humidity class {n}: "
        f"{show(CLASS_EXCESS[n], 'vapor pressure', 'ip')} at 0 °C (32 °F) outdoors and below, none from 20 °C "
        "(68 °F); 20 °C indoors.",
        _ISO,
        heating=20.0,
        excess=CLASS_EXCESS[n],
    )


CONDITIONS: dict[str, Condition] = {
    "home": Condition(
        "A home with ordinary occupancy and ventilation: 540 Pa (0.16 in. Hg) over outdoors in cold weather (class 2 of "
        "the 2012 edition), held between 25 and 60 %. That gives about 30 % when it is −10 °C (14 °F) outdoors. The "
        "simplified method of ASHRAE 160 would take 40 % there, a design load for unknown ventilation: "
        'choose "home, ASHRAE 160" for it.',
        _ISO,
        excess=540.0,
        low=0.25,
        high=0.60,
    ),
    "home, ASHRAE 160": Condition(
        "Design humidity of dwellings by the simplified method: 40 % up to −10 °C (14 °F) outdoors, rising to 70 % "
        "at 20 °C (68 °F).",
        _ASHRAE_160,
        method="ASHRAE 160",
    ),
    "home, humidified": Condition(
        "A home with a humidifier: at least 40 % all winter, otherwise as an ordinary home.",
        COMMON_PRACTICE,
        excess=540.0,
        low=0.40,
        high=0.60,
    ),
    "home, crowded": Condition(
        "A home with many people or little ventilation: 810 Pa (0.24 in. Hg) over outdoors in cold weather (class 3), held "
        "between 30 and 70 %.",
        _ISO,
        excess=810.0,
        low=0.30,
        high=0.70,
    ),
    "office": Condition(
        "An office, ventilated and not humidified: 270 Pa (0.08 in. Hg) over outdoors (class 1 to 2), held between 20 and "
        "60 %.",
        _ISO,
        excess=270.0,
        low=0.20,
        high=0.60,
    ),
    "shop": Condition(
        "A shop: 540 Pa (0.16 in. Hg) over outdoors (class 2), 20 to 60 %.",
        _ISO,
        excess=540.0,
        low=0.20,
        high=0.60,
    ),
    "school": Condition(
        "Classrooms, full by day and ventilated: 540 Pa (0.16 in. Hg) over outdoors (class 2), held between 20 and 60 %.",
        _ISO,
        excess=540.0,
        low=0.20,
        high=0.60,
    ),
    "hospital": Condition(
        "Humidified to at least 35 % and ventilated: 540 Pa (0.16 in. Hg) over outdoors otherwise, at most 60 %; 22 °C (72 °F).",
        _APPLICATIONS,
        heating=22.0,
        excess=540.0,
        low=0.35,
        high=0.60,
    ),
    "museum": Condition(
        "Humidity kept at 50 % and 21 °C (70 °F) all year for the collections.",
        _APPLICATIONS,
        heating=21.0,
        low=0.50,
        high=0.50,
        kept=True,
    ),
    "pool": Condition(
        "An indoor swimming pool: 28 °C (82 °F) and 60 % kept all year, the upper end of the usual 50 to 60 %.",
        _APPLICATIONS,
        heating=28.0,
        low=0.60,
        high=0.60,
        kept=True,
    ),
    "sports hall": Condition(
        "A gym or sports hall: 18 °C (64 °F) and 1080 Pa (0.32 in. Hg) over outdoors in cold weather (class 4).",
        _ISO,
        heating=18.0,
        excess=1080.0,
        high=0.80,
    ),
    "restaurant kitchen": Condition(
        "A commercial kitchen or canteen: 22 °C (72 °F) and 1080 Pa (0.32 in. Hg) over outdoors in cold weather (class 4).",
        _ISO,
        heating=22.0,
        excess=1080.0,
        high=0.80,
    ),
    "laundry": Condition(
        "A laundry or wet process: 22 °C (72 °F) and 1360 Pa (0.40 in. Hg) over outdoors in cold weather (class 5).",
        _ISO,
        heating=22.0,
        excess=1360.0,
        high=0.90,
    ),
    "warehouse": Condition(
        "Storage: heated to 15 °C (59 °F), 270 Pa (0.08 in. Hg) over outdoors in cold weather (class 1).",
        _ISO,
        heating=15.0,
        excess=270.0,
    ),
    "cold store": Condition(
        "Chilled storage kept at 2 °C (36 °F) and 85 % all year: vapor drives inwards.",
        COMMON_PRACTICE,
        heating=2.0,
        low=0.85,
        high=0.85,
        kept=True,
    ),
    "freezer": Condition(
        "A freezer kept at −20 °C (−4 °F) and 90 % all year: vapor drives inwards.",
        COMMON_PRACTICE,
        heating=-20.0,
        low=0.90,
        high=0.90,
        kept=True,
    ),
    "unheated": Condition(
        "Neither heated nor cooled: the air of outdoors, in temperature and vapor pressure.",
        COMMON_PRACTICE,
        heating=None,
    ),
    **{f"class {n}": _iso_class(n) for n in CLASS_EXCESS},
}
"""The named conditions. `home` is the default of the reviews."""

ALIASES: dict[str, str] = {
    "house": "home",
    "dwelling": "home",
    "apartment": "home",
    "residential": "home",
    "home, ashrae 160": "home, ASHRAE 160",
    "ashrae 160": "home, ASHRAE 160",
    "gym": "sports hall",
    "natatorium": "pool",
    "swimming pool": "pool",
    "archive": "museum",
    "retail": "shop",
    "kitchen": "restaurant kitchen",
    "restaurant": "restaurant kitchen",
    "canteen": "restaurant kitchen",
    "storage": "warehouse",
    "classroom": "school",
    "unconditioned": "unheated",
    "garage": "unheated",
}


def condition_name(text: str) -> str:
    """The condition that a word means.

    >>> condition_name("Gym"), condition_name("class 3")
    ('sports hall', 'class 3')

    Raises ValueError for others, with the nearest name.
    """
    word = " ".join(text.lower().split())
    name = ALIASES.get(word, word)
    if name not in CONDITIONS:
        near = nearest(word, [*CONDITIONS, *ALIASES])
        raise ValueError(f'unknown indoor condition "{text}"' + (f", did you mean {near!r}?" if near else ""))
    return name


def indoor_conditions(name: str, t_out: ArrayLike, p_out: ArrayLike, cooling: bool) -> IndoorConditions:
    """Indoor air of a named condition in a given climate.

    `t_out` °C and `p_out` Pa outdoors, [..., 12]. Temperature by ASHRAE 160, 4.2: the heating set point; in
    warm months 2.8 K over outdoors, held at the cooling set point where the building is cooled. Vapor
    pressure: that of outdoors and the condition's excess, within the condition's humidities; never less than
    outdoors, since ventilation brings that in, unless cooling runs, which holds 60 %; never over 95 %
    (`unheated`: saturation).

    >>> home = indoor_conditions("home", [-10.0] * 6 + [25.0] * 6, [220.0] * 6 + [2200.0] * 6, cooling=True)
    >>> home.temperature[[0, 6]].tolist(), home.humidity[[0, 6]].round(2).tolist()
    ([21.1, 23.9], [0.3, 0.6])

    Raises ValueError for an unknown name.
    """
    name = condition_name(name)
    c = CONDITIONS[name]
    t, p = np.broadcast_arrays(np.asarray(t_out, dtype=float), np.asarray(p_out, dtype=float))
    if c.heating is None:
        pressure = np.minimum(p, saturation_pressure(t))
        return _conditions(name, t + 0.0, pressure, c.about, c.source)
    if c.kept:
        inside = np.full(t.shape, c.heating)
        return _conditions(name, inside, c.low * saturation_pressure(inside), c.about, c.source)
    how = f"{c.about} {_temperature_text(c, cooling)}"
    warm = t > WARM
    top = max(c.cooling, c.heating) if cooling else np.inf
    inside = np.where(warm, np.clip(t + FLOATING, c.heating, top), c.heating)
    saturation = saturation_pressure(inside)
    if c.method == "ASHRAE 160":
        return _conditions(name, inside, ashrae160_humidity(t) * saturation, how, c.source)
    pressure = np.clip(p + c.excess * _fading(t), c.low * saturation, c.high * saturation)
    pressure = np.maximum(pressure, p)
    if cooling:
        pressure = np.where(warm, np.minimum(pressure, COOLED_HUMIDITY * saturation), pressure)
    return _conditions(name, inside, np.minimum(pressure, MOST_HUMIDITY * saturation), how, c.source)


def _degrees(t: float) -> str:
    return f"{t:g} °C ({show(t, 'temperature', 'ip')})"


def _temperature_text(c: Condition, cooling: bool) -> str:
    assert c.heating is not None, "an unheated condition is told elsewhere"
    summer = (
        f"cooled to {_degrees(max(c.cooling, c.heating or 0.0))} and, but for the ASHRAE 160 method, to at most "
        f"{COOLED_HUMIDITY:.0%} in warm months"
        if cooling
        else f"not cooled: {FLOATING:g} K ({FLOATING * 9 / 5:g} °F) over outdoors in warm months"
    )
    return f"Heated to {_degrees(c.heating)}, {summer} (ASHRAE 160, 4.2, from memory)."


def stated_conditions(
    temperature: ArrayLike, humidity: ArrayLike, how: str = "as stated"
) -> IndoorConditions:
    """Indoor air as the user gives it: `temperature` °C and `humidity` 0–1, one value or [..., 12].

    >>> stated_conditions(20.0, 0.5).vapor_pressure.round(1).tolist()[:2]
    [1168.5, 1168.5]
    """
    rh = within("relative humidity", humidity, 0.0, 1.0)
    t = np.broadcast_to(
        np.asarray(temperature, dtype=float), np.broadcast_shapes(np.shape(temperature), rh.shape, (12,))
    )
    given = Citation("the section", kind="data", certainty="given")
    return _conditions("stated", t + 0.0, rh * saturation_pressure(t), how, given)


def _conditions(name: str, t: Array, p: Array, how: str, source: Citation) -> IndoorConditions:
    return IndoorConditions(name, t, p, p / saturation_pressure(t), how, source)
