"""Hourly outdoor weather: measured series, a synthetic year from monthly means, and sun on a surface.

Row k of a year is the hour that ends k + 1 hours after New Year in local standard time: radiation and rain
are means over that hour, temperature, vapor pressure and wind hold at its end (as in weather files).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import saturation_pressure
from reviewer.physics.basics import KELVIN, STEFAN_BOLTZMANN, Array, within
from reviewer.physics.sun import GROUND_REFLECTANCE, SOLAR_CONSTANT, cloud_cover, sky_temperature

HOURS = 8760
MONTH_HOURS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24
_MONTH = np.repeat(np.arange(12), MONTH_HOURS)
_DAY_MONTH = _MONTH[::24]

CLEARNESS = 0.5
"""Daily clearness index taken where no solar radiation is known: common practice, no published source."""
WIND = 4.0
"""m/s, monthly mean taken where no wind is known: common practice, no published source."""
DAY_TO_DAY = 0.65
"""Correlation of daily mean temperature with the day before (Richardson, Water Resources Research 17 (1981)
182–190: 0.6 to 0.7 at US stations, from memory)."""
RANGE_FACTOR = 0.16
"""K_T = 0.16·√(daily temperature range, K), inland (Hargreaves and Samani 1982; FAO Irrigation and Drainage
Paper 56 equation 50)."""
CLEAREST = 0.82
"""Highest hourly clearness index."""


@dataclass(frozen=True, slots=True)
class HourlyWeather:
    """A year, or any whole number of days, of hourly weather. Series of one length, hour by hour."""

    dry_bulb: Array
    """°C."""
    vapor_pressure: Array
    """Pa."""
    ghi: Array
    """Global horizontal irradiance, W/m²."""
    dni: Array
    """Direct normal irradiance, W/m²."""
    dhi: Array
    """Diffuse horizontal irradiance, W/m²."""
    longwave_sky: Array
    """Long-wave irradiance of a horizontal plane from the sky, W/m²."""
    wind_speed: Array
    """m/s at 10 m."""
    wind_direction: Array
    """Degrees clockwise from north, where the wind comes from."""
    rain: Array
    """Precipitation, mm/h of water."""
    latitude: float
    longitude: float
    """Degrees, east positive."""
    time_zone: float
    """Hours east of Greenwich, of the clock that the hours are told by."""

    def __post_init__(self) -> None:
        sizes = set()
        for f in fields(self):
            if f.name in ("latitude", "longitude", "time_zone"):
                continue
            value = np.asarray(getattr(self, f.name), dtype=float)
            if value.ndim != 1 or not np.isfinite(value).all():
                raise ValueError(f"weather: {f.name} must be one series of finite numbers")
            object.__setattr__(self, f.name, value)
            sizes.add(len(value))
        if len(sizes) != 1 or next(iter(sizes)) % 24:
            raise ValueError("weather: all series must cover the same whole days")
        within("latitude", self.latitude, -90, 90, "°")
        within("longitude", self.longitude, -180, 180, "°")
        within("time zone", self.time_zone, -14, 14, "h")
        for name in ("vapor_pressure", "ghi", "dni", "dhi", "longwave_sky", "wind_speed", "rain"):
            if np.any(getattr(self, name) < 0):
                raise ValueError(f"weather: {name} must not be negative")


def sun_position(
    day: ArrayLike, hour: ArrayLike, latitude: float, longitude: float, time_zone: float
) -> tuple[Array, Array]:
    """Cosine of the sun's zenith angle and its azimuth (degrees clockwise from north).

    `day` of the year (1 is January 1) and clock `hour` (0–24) of the time zone; shapes broadcast.
    Declination and equation of time: Spencer, Search 2 (1971) 172, as in Iqbal, An Introduction to Solar
    Radiation (1983), equations 1.3.1 and 1.4.1; angles: Iqbal 1.5.1 and 1.5.2 (from memory). Within 0.5° of
    precise algorithms.

    >>> cosine, azimuth = sun_position(81, 12.0, 45.0, 0.0, 0.0)
    >>> round(float(cosine), 2), round(float(azimuth))
    (0.71, 177)
    """
    g = 2.0 * np.pi * (np.asarray(day, dtype=float) - 1.0) / 365.0
    tilt = (
        0.006918
        - 0.399912 * np.cos(g)
        + 0.070257 * np.sin(g)
        - 0.006758 * np.cos(2 * g)
        + 0.000907 * np.sin(2 * g)
        - 0.002697 * np.cos(3 * g)
        + 0.00148 * np.sin(3 * g)
    )
    minutes = 229.18 * (
        0.000075
        + 0.001868 * np.cos(g)
        - 0.032077 * np.sin(g)
        - 0.014615 * np.cos(2 * g)
        - 0.040849 * np.sin(2 * g)
    )
    solar_hour = np.asarray(hour, dtype=float) + minutes / 60.0 + longitude / 15.0 - time_zone
    angle = np.radians(15.0 * (solar_hour - 12.0))
    phi = np.radians(latitude)
    up = np.sin(phi) * np.sin(tilt) + np.cos(phi) * np.cos(tilt) * np.cos(angle)
    east = -np.cos(tilt) * np.sin(angle)
    north = np.cos(phi) * np.sin(tilt) - np.sin(phi) * np.cos(tilt) * np.cos(angle)
    return up, np.degrees(np.arctan2(east, north)) % 360.0


def _sun(hours: int, latitude: float, longitude: float, time_zone: float) -> tuple[Array, Array, Array]:
    """For each hour: mean cosine of the zenith angle while the sun is up, share of the hour that it is up,
    and azimuth at the middle of the time it is up."""
    parts = 12
    t = (np.arange(hours * parts) + 0.5) / parts
    up, azimuth = sun_position(np.floor(t / 24) % 365 + 1, t % 24, latitude, longitude, time_zone)
    up = np.maximum(up, 0.0).reshape(hours, parts)
    lit = up > 0
    share = lit.mean(axis=1)
    mean = np.divide(up.sum(axis=1), lit.sum(axis=1), out=np.zeros(hours), where=share > 0)
    a = np.radians(azimuth).reshape(hours, parts)
    x, y = (np.where(lit, np.sin(a), 0.0).sum(axis=1), np.where(lit, np.cos(a), 0.0).sum(axis=1))
    return mean, share, np.degrees(np.arctan2(x, y)) % 360.0


def plane_irradiance(
    weather: HourlyWeather, azimuth: float, tilt: float, reflectance: float = GROUND_REFLECTANCE
) -> Array:
    """Irradiance in W/m² of a plane that faces `azimuth` (degrees clockwise from north), `tilt` degrees from
    horizontal, hour by hour: direct, diffuse from an isotropic sky, and reflected by the ground
    (Liu and Jordan 1963; Duffie and Beckman equation 2.15.1).
    """
    beta = np.radians(within("tilt", tilt, 0, 180, "°"))
    within("azimuth", azimuth, -360, 360, "°")
    within("ground reflectance", reflectance, 0, 1)
    cosine, share, sun_azimuth = _sun(
        len(weather.ghi), weather.latitude, weather.longitude, weather.time_zone
    )
    sine = np.sqrt(np.maximum(1.0 - cosine**2, 0.0))
    incidence = cosine * np.cos(beta) + sine * np.sin(beta) * np.cos(np.radians(sun_azimuth - azimuth))
    direct = weather.dni * np.where(share > 0, np.maximum(incidence, 0.0), 0.0)
    diffuse = weather.dhi * 0.5 * (1.0 + np.cos(beta))
    return direct + diffuse + weather.ghi * reflectance * 0.5 * (1.0 - np.cos(beta))


def diffuse_fraction(clearness: ArrayLike) -> Array:
    """Diffuse share of global horizontal irradiance by the hourly clearness index K_T (0–1).

    Source: Erbs, Klein and Duffie, Solar Energy 28 (1982) 293–302, equation 1 (from memory).

    >>> diffuse_fraction([0.1, 0.5, 0.85]).round(3).tolist()
    [0.991, 0.659, 0.165]
    """
    k = within("clearness index", clearness, 0, 1)
    middle = 0.9511 - 0.1604 * k + 4.388 * k**2 - 16.638 * k**3 + 12.336 * k**4
    return np.where(k <= 0.22, 1.0 - 0.09 * k, np.where(k <= 0.8, middle, 0.165))


def smooth_year(monthly: ArrayLike) -> Array:
    """8,760 hourly values, linear between mid-months, whose monthly means are `monthly` (12) to round-off.

    The twelve mid-month values solve a cyclic linear system for the means; a short step to the exact mean
    removes what rounding leaves.

    >>> x = smooth_year([0, 1, 4, 9, 14, 18, 20, 19, 15, 10, 4, 1])
    >>> round(float(x[744:1416].mean()), 12), len(x)
    (1.0, 8760)
    """
    target = np.asarray(monthly, dtype=float)
    ends = np.cumsum(MONTH_HOURS)
    middle = ends - MONTH_HOURS / 2
    t = np.arange(HOURS) + 0.5
    knots = np.concatenate([[middle[-1] - HOURS], middle, [middle[0] + HOURS]])
    hats = np.empty((12, 12))
    for j in range(12):
        unit = np.zeros(12)
        unit[j] = 1.0
        hats[:, j] = monthly_means(np.interp(t, knots, np.concatenate([unit[-1:], unit, unit[:1]])))
    nodes = np.linalg.solve(hats, target)
    x = np.interp(t, knots, np.concatenate([nodes[-1:], nodes, nodes[:1]]))
    return x + (target - monthly_means(x))[_MONTH]


def monthly_means(hourly: ArrayLike) -> Array:
    """Means of the twelve months of a year of 8,760 hours.

    >>> monthly_means(np.ones(8760)).tolist() == [1.0] * 12
    True
    """
    x = np.asarray(hourly, dtype=float)
    if x.shape != (HOURS,):
        raise ValueError("a year has 8,760 hours")
    return np.add.reduceat(x, np.concatenate([[0], np.cumsum(MONTH_HOURS)[:-1]])) / MONTH_HOURS


def _fit(shape: Array, cap: Array, target: Array, what: str) -> Array:
    """min(f·shape, cap), f for each month such that the monthly means are `target`."""
    out = np.empty(HOURS)
    ends = np.cumsum(MONTH_HOURS)
    for m in range(12):
        s = slice(ends[m] - MONTH_HOURS[m], ends[m])
        most = cap[s].mean()
        if target[m] > most * (1 + 1e-12):
            raise ValueError(
                f"{what} of {target[m]:.4g} in month {m + 1} is more than can be: at most {most:.4g} there"
            )
        low, high = 0.0, 1.0
        while np.minimum(high * shape[s], cap[s]).mean() < target[m] and high < 1e6:
            high *= 2.0
        for _ in range(60):
            mid = 0.5 * (low + high)
            if np.minimum(mid * shape[s], cap[s]).mean() < target[m]:
                low = mid
            else:
                high = mid
        x = np.minimum(high * shape[s], cap[s])
        mean = x.mean()
        out[s] = x * (target[m] / mean) if mean > 0 else x
    return out


def _autoregressive(rng: np.random.Generator, n: int, correlation: float) -> Array:
    """A stationary series of n values, mean 0, standard deviation 1, each correlated with the one before."""
    noise = rng.standard_normal(n + 50)
    x = np.empty(n + 50)
    x[0] = noise[0]
    step = np.sqrt(1.0 - correlation**2)
    for i in range(1, n + 50):
        x[i] = correlation * x[i - 1] + step * noise[i]
    return x[50:]


def _rain(rng: np.random.Generator, monthly: Array) -> tuple[Array, Array]:
    """Hourly rain (mm/h) and the wet days, from monthly totals (mm).

    Wet and dry days follow a two-state Markov chain with P(wet|dry) = 0.75·f and P(wet|wet) = 0.25 + 0.75·f
    (Geng, Penning de Vries and Supit, Agricultural and Forest Meteorology 36 (1986) 363–376, from memory);
    the wet-day share f is that of days of 8 mm on the mean, between 5 and 70 % (ours). Amounts are
    exponential, in one spell of 2 to 10 hours a day; the totals are then scaled to the month's.
    """
    days = MONTH_HOURS // 24
    share = np.clip(monthly / 8.0 / days, 0.05, 0.7)
    wet = np.zeros(365, dtype=bool)
    draw = rng.random(365)
    before = False
    for d in range(365):
        f = share[_DAY_MONTH[d]]
        before = bool(draw[d] < (0.25 + 0.75 * f if before else 0.75 * f))
        wet[d] = before
    first = np.concatenate([[0], np.cumsum(days)[:-1]])
    for m in range(12):
        if not wet[first[m] : first[m] + days[m]].any():
            wet[first[m] + days[m] // 2] = True
    amount = rng.exponential(1.0, 365)
    length = rng.integers(2, 11, 365)
    begin = rng.integers(0, 24, 365)
    rain = np.zeros(HOURS)
    for d in np.flatnonzero(wet):
        start = 24 * d + min(int(begin[d]), 24 - int(length[d]))
        rain[start : start + int(length[d])] += amount[d] / length[d]
    means = monthly_means(rain)
    return rain * (monthly / MONTH_HOURS / means)[_MONTH], wet


def synthetic_year(
    latitude: float,
    longitude: float,
    temperature: ArrayLike,
    vapor_pressure: ArrayLike,
    solar: ArrayLike | None = None,
    precipitation: ArrayLike | None = None,
    wind: ArrayLike | None = None,
    seed: int = 1,
) -> HourlyWeather:
    """A plausible year of hourly weather whose monthly means are the given ones, to round-off.

    Twelve values each: `temperature` °C, `vapor_pressure` Pa, `solar` W/m² (24 h mean of global horizontal),
    `precipitation` mm a month, `wind` m/s. Solar None: a clearness index of 0.5; precipitation None: no rain;
    wind None: 4 m/s. The same seed gives the same year (generator PCG64).

    How: the means are joined linearly between mid-months, keeping them (`smooth_year`). Days differ by a
    first-order autoregressive series (correlation 0.65; standard deviation 1.5 K and 0.18 for each K of the
    year's range in winter, 0.09 in summer: ours, typical of mid-latitude stations, no published source).
    Cloudiness and the daily range of temperature, (K_T/0.16)² K (Hargreaves), follow a second series, and wet
    days are cloudier. Rain comes in spells (see `_rain`). Vapor pressure follows daily mean temperature by
    4 % for each K, never above saturation. Sun: extraterrestrial irradiance times clearness; direct and diffuse
    by Erbs. Sky: Martin and Berdahl's emissivity with clouds from the day's clearness. Wind speed is Rayleigh
    distributed and correlated from hour to hour, its direction wanders without a preferred one.

    What a made-up year can't have: the extremes, the local wind roses and the coincidence of wind and rain of
    a measured one. Raises ValueError for means that no weather can have (vapor pressure above saturation,
    more sun than the sky lets through).
    """
    within("latitude", latitude, -90, 90, "°")
    within("longitude", longitude, -180, 180, "°")
    given: dict[str, Array] = {}
    limits: dict[str, tuple[ArrayLike | None, float, float, str]] = {
        "temperature": (temperature, -60, 50, "°C"),
        "vapor pressure": (vapor_pressure, 0.5, 6000, "Pa"),
        "solar radiation": (solar, 0, 500, "W/m²"),
        "precipitation": (precipitation, 0, 2000, "mm"),
        "wind speed": (wind, 0, 30, "m/s"),
    }
    for what, (value, low, high, unit) in limits.items():
        if value is not None:
            a = within(what, value, low, high, unit)
            if a.shape != (12,):
                raise ValueError(f"{what}: twelve monthly values are needed, not {a.size}")
            given[what] = a
    rng = np.random.Generator(np.random.PCG64(seed))
    zone = float(np.round(longitude / 15.0))
    t_mean, p_mean = given["temperature"], given["vapor pressure"]

    rain, wet = np.zeros(HOURS), np.zeros(365, dtype=bool)
    # Every series draws its numbers whether it is needed or not, so that one kind of data doesn't change
    # another.
    made, wet_days = _rain(rng, given.get("precipitation", np.full(12, 50.0)))
    if "precipitation" in given:
        rain, wet = made, wet_days
    cloud_series = _autoregressive(rng, 365, 0.4)
    warmth_series = _autoregressive(rng, 366, DAY_TO_DAY)
    gusts = _autoregressive(rng, HOURS, 0.93)
    gusts2 = _autoregressive(rng, HOURS, 0.93)
    turns = np.cumsum(rng.normal(0.0, 12.0, HOURS)) + rng.uniform(0.0, 360.0)

    hour = np.arange(HOURS)
    cosine, up, _ = _sun(HOURS, latitude, longitude, zone)
    above = SOLAR_CONSTANT * (1.0 + 0.033 * np.cos(2 * np.pi * (hour // 24 + 1) / 365.0)) * cosine * up
    possible = monthly_means(above)
    solar_mean = given.get("solar radiation", CLEARNESS * possible)
    clear_month = np.clip(solar_mean / np.maximum(possible, 1e-9), 0.05, 0.8)
    # Clearer days than the mean have less room upwards, cloudier ones more room downwards.
    sway = np.tanh(cloud_series - 0.8 * (wet - wet.mean()))
    daily = clear_month[_DAY_MONTH] * (1.0 + 0.45 * sway)
    hourly_clear = np.repeat(np.clip(daily, 0.03, 0.78), 24)
    ghi = _fit(above * hourly_clear, above * CLEAREST, solar_mean, "solar radiation")
    clearness = np.clip(np.divide(ghi, above, out=np.zeros(HOURS), where=above > 1e-6), 0.0, 1.0)
    dhi = ghi * diffuse_fraction(clearness)
    dni = np.divide(ghi - dhi, cosine * up, out=np.zeros(HOURS), where=cosine * up > 0.02)
    # Near sunrise and sunset the direct beam is too faint to matter: it counts as diffuse.
    dhi = ghi - dni * cosine * up

    year_range = float(t_mean.max() - t_mean.min())
    season = (t_mean.max() - smooth_year(t_mean)) / max(year_range, 1e-9)
    spread = 1.5 + year_range * (0.09 + 0.09 * np.clip(season, 0.0, 1.0)) if year_range > 0 else 1.5
    days = np.interp(hour / 24.0, np.arange(366) + 0.0, warmth_series)
    swing = spread * days
    daily_range = np.clip((np.repeat(np.clip(daily, 0.03, 0.78), 24) / RANGE_FACTOR) ** 2, 0.5, 22.0)
    shape = np.cos(2 * np.pi * ((hour + 1.0) % 24 - 15.0 + (zone - longitude / 15.0) * -1.0) / 24.0)
    wave = swing + 0.5 * daily_range * shape
    t = smooth_year(t_mean) + wave - monthly_means(wave)[_MONTH]
    t = t + (t_mean - monthly_means(t))[_MONTH]
    within("hourly temperature made from the monthly means", t, -80, 60, "°C")

    base = smooth_year(p_mean)
    base = np.where(base > 0.2 * p_mean[_MONTH], base, 0.2 * p_mean[_MONTH])
    p = _fit(base * np.exp(0.04 * swing), saturation_pressure(t), p_mean, "vapor pressure")

    overcast = np.repeat(cloud_cover(np.clip(daily, 0.0, 0.75)), 24)
    sky = sky_temperature(np.clip(t, -60, 60), np.clip(p, 0.5, 8000), overcast)
    longwave = STEFAN_BOLTZMANN * (sky + KELVIN) ** 4
    speed = np.hypot(gusts, gusts2)
    mean_wind = given.get("wind speed", np.full(12, WIND))
    speed = speed * (mean_wind / monthly_means(speed))[_MONTH]
    return HourlyWeather(
        dry_bulb=t,
        vapor_pressure=p,
        ghi=ghi,
        dni=dni,
        dhi=dhi,
        longwave_sky=longwave,
        wind_speed=speed,
        wind_direction=turns % 360.0,
        rain=rain,
        latitude=float(latitude),
        longitude=float(longitude),
        time_zone=zone,
    )
