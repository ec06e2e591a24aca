"""Sun and sky on the outer face: monthly irradiance, sol-air and surface temperatures, inward vapor drive.

Azimuths are degrees clockwise from north, tilts degrees from horizontal (0 a flat roof, 90 a wall).
Monthly arrays end in an axis of twelve, January first; other axes broadcast (sections, places).

Solar equations: Duffie and Beckman, Solar Engineering of Thermal Processes, numbered after the third edition
from memory; Klein, Solar Energy 19 (1977) 325–329; Erbs, Klein and Duffie, Solar Energy 28 (1982) 293–302.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from reviewer.humidity import dew_point, saturation_pressure
from reviewer.physics.basics import KELVIN, STEFAN_BOLTZMANN, Array, within

SOLAR_CONSTANT = 1367.0
"""W/m² (Duffie and Beckman, section 1.2)."""
MEAN_DAYS: Array = np.array([17.0, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344])
"""Day of the year whose declination is the month's mean (Klein 1977; Duffie and Beckman, Table 1.6.1)."""
GROUND_REFLECTANCE = 0.2
"""Bare ground (Liu and Jordan 1963; snow would be 0.7)."""
OUTSIDE_FILM = 17.0
"""W/(m²·K), summer surface coefficient of the sol-air constants (ASHRAE Fundamentals: 3.0 Btu/(h·ft²·°F))."""
HORIZONTAL_LONGWAVE = 3.9
"""K, ε·ΔR/h_o of a horizontal surface under a clear sky (ASHRAE Fundamentals, sol-air temperature)."""
CLEAR_DAY = 0.75
"""Daily clearness of a cloudless day at sea level (FAO Irrigation and Drainage Paper 56, equation 37)."""
AZIMUTHS: Mapping[str, float] = MappingProxyType(
    {
        "north": 0.0,
        "north-east": 45.0,
        "east": 90.0,
        "south-east": 135.0,
        "south": 180.0,
        "south-west": 225.0,
        "west": 270.0,
        "north-west": 315.0,
    }
)

_STEPS = 48
_HOURS = (np.arange(_STEPS) + 0.5) / _STEPS * 2.0 - 1.0
_DAY = np.radians(MEAN_DAYS * 360.0 / 365.0)
_DECLINATION = np.radians(23.45) * np.sin(np.radians(360.0 * (284.0 + MEAN_DAYS) / 365.0))
_SIN_D, _COS_D, _TAN_D = np.sin(_DECLINATION), np.cos(_DECLINATION), np.tan(_DECLINATION)
_NORMAL = SOLAR_CONSTANT * (1.0 + 0.033 * np.cos(_DAY))


def declination() -> Array:
    """Declination of the sun on the mean day of each month, degrees, shape (12,).

    Source: Cooper 1969; Duffie and Beckman, equation 1.6.1a and Table 1.6.1.

    >>> declination().round(1)[[0, 5, 11]].tolist()
    [-20.9, 23.1, -23.0]
    """
    return np.degrees(_DECLINATION)


def sunset_angle(latitude: ArrayLike) -> Array:
    """Hour angle of sunset on the mean day of each month, degrees, shape (…, 12).

    0 in polar night, 180 in polar day. Duffie and Beckman, equation 1.6.10. Valid −90 to 90°.

    >>> sunset_angle(43.0).round(1)[[0, 6]].tolist()
    [69.1, 111.2]
    """
    phi = np.radians(within("latitude", latitude, -90, 90, "°"))[..., None]
    return np.degrees(np.arccos(np.clip(-np.tan(phi) * _TAN_D, -1.0, 1.0)))


def extraterrestrial(latitude: ArrayLike) -> Array:
    """Irradiance of a horizontal plane above the atmosphere, W/m² averaged over 24 h, shape (…, 12).

    Duffie and Beckman, equation 1.10.3, on the mean day. Valid −90 to 90°.

    >>> (extraterrestrial(43.0) * 0.0864).round(1)[[0, 6]].tolist()
    [13.4, 40.6]
    """
    phi = np.radians(within("latitude", latitude, -90, 90, "°"))[..., None]
    ws = np.radians(sunset_angle(latitude))
    return (_NORMAL / np.pi * (np.cos(phi) * _COS_D * np.sin(ws) + ws * np.sin(phi) * _SIN_D)).clip(min=0.0)


def diffuse_share(clearness: ArrayLike, sunset: ArrayLike) -> Array:
    """Diffuse share of monthly mean horizontal irradiance from the month's `clearness` K_T.

    `sunset` is the sunset hour angle (degrees). Erbs and others 1982; Duffie and Beckman, equation 2.12.1,
    fitted for 0.3 ≤ K_T ≤ 0.8. Below 0.3 a straight line leads to 1 under a permanently black sky (ours: a
    bound, not a fit); above 0.8 (up to 1, which no month reaches) the value at 0.8 is kept.

    >>> diffuse_share([0.5, 0.5, 0.0], [70.0, 95.0, 70.0]).round(3).tolist()
    [0.391, 0.429, 1.0]
    """
    k = within("clearness index", clearness, 0, 1)
    ws = within("sunset hour angle", sunset, 0, 180, "°")
    kf = np.clip(k, 0.3, 0.8)
    winter = 1.391 + (-3.560 + (4.189 - 2.137 * kf) * kf) * kf
    rest = 1.311 + (-3.022 + (3.427 - 1.821 * kf) * kf) * kf
    share = np.where(ws <= 81.4, winter, rest)
    return np.where(k < 0.3, 1.0 - (1.0 - share) * k / 0.3, share)


def _cosines(latitude: ArrayLike, tilt: ArrayLike, azimuth: ArrayLike, sunset: Array) -> tuple[Array, Array]:
    """Cosines of the zenith angle and of incidence, shape (…, 12, steps), over sunrise to sunset."""
    phi, beta, gamma = (
        np.radians(a)[..., None, None]
        for a in (
            within("latitude", latitude, -90, 90, "°"),
            within("tilt", tilt, 0, 180, "°"),
            within("azimuth", azimuth, -180, 360, "°") - 180.0,  # from south, west positive
        )
    )
    sin_d, cos_d = _SIN_D[:, None], _COS_D[:, None]
    w = np.radians(sunset)[..., None] * _HOURS
    across = cos_d * np.cos(w)
    # Parts of the direction to the sun: up, toward the equator (south), and west.
    up = np.sin(phi) * sin_d + np.cos(phi) * across
    south = np.sin(phi) * across - np.cos(phi) * sin_d
    west = cos_d * np.sin(w)
    incidence = up * np.cos(beta) + (south * np.cos(gamma) + west * np.sin(gamma)) * np.sin(beta)
    return np.maximum(up, 0.0), np.maximum(incidence, 0.0)


def beam_ratio(latitude: ArrayLike, tilt: ArrayLike, azimuth: ArrayLike) -> Array:
    """R̄_b: beam irradiation of the plane over that of the horizontal, on each mean day, shape (…, 12).

    Integral of the cosines over the day (Duffie and Beckman, equations 1.6.2 and 2.19.3 for any azimuth;
    Klein 1977), by the midpoint rule in 48 steps. 0 in polar night.

    >>> beam_ratio(40.0, 90.0, 180.0).round(2)[[0, 5]].tolist()
    [2.32, 0.17]
    """
    up, incidence = _cosines(latitude, tilt, azimuth, sunset_angle(latitude))
    total = up.sum(axis=-1)
    return np.where(total > 1e-9, incidence.sum(axis=-1) / np.where(total > 1e-9, total, 1.0), 0.0)


def _skew(sunset: Array, up: Array) -> Array:
    """r_t/r_d through the mean day: global against extraterrestrial horizontal, both of unit total.

    Collares-Pereira and Rabl 1979; Duffie and Beckman, equations 2.13.1 and 2.13.4. Scaled on our own steps,
    so that the day's total is exact.
    """
    ws = np.radians(sunset)[..., None]
    slant = np.sin(ws - np.pi / 3.0)
    skew = 0.409 + 0.5016 * slant + (0.6609 - 0.4767 * slant) * np.cos(ws * _HOURS)
    total = (up * skew).sum(axis=-1, keepdims=True)
    return skew * np.where(total > 0, up.sum(axis=-1, keepdims=True) / np.where(total > 0, total, 1.0), 1.0)


def plane_irradiance(
    horizontal: ArrayLike,
    latitude: ArrayLike,
    tilt: ArrayLike,
    azimuth: ArrayLike = 180.0,
    reflectance: ArrayLike = GROUND_REFLECTANCE,
) -> Array:
    """Monthly mean irradiance of a plane, W/m² over 24 h, shape (…, 12), from that of the horizontal.

    `horizontal` (…, 12) is global, W/m² over 24 h; `latitude`, `tilt`, `azimuth`, `reflectance` (…).
    Beam, diffuse from an isotropic sky H·f·(1 + cos β)/2 and reflected H·ρ(1 − cos β)/2, the beam through the
    mean day being r_t·H − r_d·H·f (Liu and Jordan 1962; Klein and Theilacker 1981; Duffie and Beckman,
    sections 2.19 and 2.20), summed in 48 steps so that any azimuth will do. Against hourly sums of three
    typical years a year on a wall comes within 7 % and most months within 12 %; winter months of high
    latitudes are the worst (37 % in one). Irradiance above what enters the atmosphere is refused, with a
    margin of 10 % for gridded data. Valid 0 to 600 W/m²; else ValueError.

    >>> plane_irradiance(np.full(12, 150.0), 40.0, 90.0, 180.0).round()[[0, 5]].tolist()
    [315.0, 74.0]
    """
    h = within("horizontal irradiance", horizontal, 0, 600, "W/m²")
    top = extraterrestrial(latitude)
    if np.any(h > 1.1 * top + 5.0):
        raise ValueError("horizontal irradiance is above what the sun sends to the top of the atmosphere")
    clearness = np.clip(h / np.maximum(top, 1e-9), 0.0, 1.0)
    sunset = sunset_angle(latitude)
    f = np.where(top > 1.0, diffuse_share(clearness, sunset), 1.0)
    up, incidence = _cosines(latitude, tilt, azimuth, sunset)
    # The beam is nowhere negative: near sunrise of dull months the two ratios cross.
    weight = np.maximum(_skew(sunset, up) - f[..., None], 0.0)
    total = (up * weight).sum(axis=-1)
    ratio = np.where(
        total > 1e-9, (incidence * weight).sum(axis=-1) / np.where(total > 1e-9, total, 1.0), 0.0
    )
    cos_tilt = np.cos(np.radians(np.asarray(tilt, dtype=float)))[..., None]
    rho = within("ground reflectance", reflectance, 0, 1)[..., None]
    return h * ((1.0 - f) * ratio + f * (1.0 + cos_tilt) / 2.0 + rho * (1.0 - cos_tilt) / 2.0)


def clear_day_peak(
    latitude: ArrayLike,
    tilt: ArrayLike,
    azimuth: ArrayLike = 180.0,
    reflectance: ArrayLike = GROUND_REFLECTANCE,
) -> Array:
    """Highest irradiance of a plane on a cloudless mean day of each month, W/m², shape (…, 12).

    Direct normal irradiance is G_on·0.7^(m^0.678) at air mass m (Meinel and Meinel, Applied Solar Energy,
    1976), m by Kasten and Young 1989; the diffuse sky adds a tenth of it on the horizontal, isotropic (common
    practice). At sea level; a high site has up to 10 % more.

    >>> clear_day_peak(40.0, 90.0, 270.0).round(-1)[[0, 6]].tolist()
    [450.0, 740.0]
    """
    up, incidence = _cosines(latitude, tilt, azimuth, sunset_angle(latitude))
    zenith = np.degrees(np.arccos(np.minimum(up, 1.0)))
    mass = 1.0 / (up + 0.50572 * (96.07995 - zenith) ** -1.6364)
    normal = np.where(up > 0, _NORMAL[:, None] * 0.7 ** (mass**0.678), 0.0)
    cos_tilt = np.cos(np.radians(np.asarray(tilt, dtype=float)))[..., None, None]
    rho = within("ground reflectance", reflectance, 0, 1)[..., None, None]
    sky, ground = (1.0 + cos_tilt) / 2.0, (1.0 - cos_tilt) / 2.0
    return (normal * (incidence + 0.1 * sky + (up + 0.1) * rho * ground)).max(axis=-1)


def sol_air_temperature(
    air: ArrayLike,
    irradiance: ArrayLike,
    absorptance: ArrayLike,
    film: ArrayLike = OUTSIDE_FILM,
    longwave: ArrayLike = 0.0,
) -> Array:
    """Sol-air temperature, °C: θ_e + α·I/h_o − ε·ΔR/h_o.

    `irradiance` W/m², `absorptance` α 0–1, `film` h_o W/(m²·K), `longwave` the last term in K: 0 for vertical
    faces, HORIZONTAL_LONGWAVE for horizontal ones under a clear sky.
    Source: ASHRAE Fundamentals, Nonresidential Cooling and Heating Load Calculations, equation 30 of chapter
    18 (2009; from memory). Valid −80 to 60 °C air, to 1500 W/m², film 3 to 60 W/(m²·K); beyond, ValueError.

    >>> float(sol_air_temperature(30.0, 800.0, 0.884).round(1))
    71.6
    """
    t = within("air temperature", air, -80, 60, "°C")
    i = within("irradiance", irradiance, 0, 1500, "W/m²")
    a = within("solar absorptance", absorptance, 0, 1)
    h = within("outside film coefficient", film, 3, 60, "W/(m²·K)")
    return t + a * i / h - within("long-wave term", longwave, 0, 20, "K")


def monthly_sol_air(
    air: ArrayLike,
    horizontal: ArrayLike,
    latitude: ArrayLike,
    tilt: ArrayLike,
    azimuth: ArrayLike,
    absorptance: ArrayLike,
    film: ArrayLike = OUTSIDE_FILM,
    longwave: ArrayLike = 0.0,
) -> Array:
    """Monthly mean sol-air temperature of a face, °C, shape (…, 12): `plane_irradiance` into
    `sol_air_temperature`; scalars or (…) for everything but the monthly `air` and `horizontal` (…, 12).

    >>> monthly_sol_air(np.zeros(12), np.full(12, 100.0), 45.0, 90.0, 180.0, 0.6).round(1)[[0, 5]].tolist()
    [8.5, 1.9]
    """
    plane = plane_irradiance(horizontal, latitude, tilt, azimuth)
    a, h, lw = (np.asarray(v, dtype=float)[..., None] for v in (absorptance, film, longwave))
    return sol_air_temperature(air, plane, a, h, lw)


def cladding_temperature(
    sol_air: ArrayLike, indoor: ArrayLike, resistance: ArrayLike, film: ArrayLike = OUTSIDE_FILM
) -> Array:
    """Steady temperature of the outer face, °C: between the sol-air and the indoor temperature.

    `resistance` (m²·K/W) lies between the outer face and the indoor air; with `film` h_o the face is at
    (h_o·θ_sa + θ_i/R)/(h_o + 1/R). Heat balance of the face; without heat storage, so an upper bound of the
    peak of heavy claddings. Valid resistance 0.05 to 10⁶ m²·K/W; beyond, ValueError.

    >>> round(float(cladding_temperature(71.6, 24.0, 3.0)), 1)
    70.7
    """
    s = within("sol-air temperature", sol_air, -90, 160, "°C")
    i = within("indoor temperature", indoor, -40, 60, "°C")
    r = within("thermal resistance", resistance, 0.05, 1e6, "m²·K/W")
    h = within("outside film coefficient", film, 3, 60, "W/(m²·K)")
    return (h * s + i / r) / (h + 1.0 / r)


def cloud_cover(clearness: ArrayLike) -> Array:
    """Cloudiness, 0–1, that goes with a month's `clearness` K_T.

    Inverse of G = G_clear(1 − 0.75·N^3.4) (Kasten and Czeplak, Solar Energy 24 (1980) 177–189), with the
    clear day of FAO-56.

    >>> cloud_cover([0.75, 0.5, 0.1]).round(2).tolist()
    [0.0, 0.79, 1.0]
    """
    k = within("clearness index", clearness, 0, 1)
    return np.clip((1.0 - k / CLEAR_DAY) / 0.75, 0.0, 1.0) ** (1.0 / 3.4)


def sky_temperature(air: ArrayLike, vapor_pressure: ArrayLike, cloud: ArrayLike = 0.0) -> Array:
    """Effective radiant temperature of the sky, °C.

    Clear-sky emissivity of the day 0.711 + 0.56(θ_dp/100) + 0.73(θ_dp/100)² from the dew point (Berdahl and
    Martin, Solar Energy 32 (1984) 663–664); clouds of cover n raise it by (1 − ε)·n·0.8 (Martin and Berdahl,
    Solar Energy 33 (1984) 321–336, low and middle clouds; the factor from memory). `vapor_pressure` Pa,
    capped at saturation. Fitted for dew points −20 to 30 °C; used at air of −60 to 60 °C, an emissivity
    of 1 at most; beyond, ValueError.

    >>> sky_temperature(10.0, 900.0, [0.0, 1.0]).round(1).tolist()
    [-10.2, 6.3]
    """
    t = within("air temperature", air, -60, 60, "°C")
    n = within("cloud cover", cloud, 0, 1)
    pv = within("vapor pressure", vapor_pressure, 0.5, 8000, "Pa")
    dew = dew_point(np.minimum(pv, saturation_pressure(t))) / 100.0
    clear = np.minimum(0.711 + (0.56 + 0.73 * dew) * dew, 1.0)
    emissivity = clear + (1.0 - clear) * n * 0.8
    return (t + KELVIN) * emissivity**0.25 - KELVIN


def surface_temperature(
    air: ArrayLike,
    sky: ArrayLike,
    irradiance: ArrayLike,
    absorptance: ArrayLike,
    indoor: ArrayLike,
    resistance: ArrayLike,
    convection: ArrayLike = 12.0,
    emissivity: ArrayLike = 0.9,
    sky_view: ArrayLike = 1.0,
) -> Array:
    """Temperature, °C, of an outer face that sun, air, sky and the room hold in balance.

    h_c(θ_a − θ_s) + α·I + εσF(T_sky⁴ − T_s⁴) + εσ(1 − F)(T_a⁴ − T_s⁴) + (θ_i − θ_s)/R = 0, by Newton's
    method.
    `irradiance` W/m² (0 at night, or the 24 h mean), `resistance` m²·K/W from the face to the indoor air,
    `convection` h_c W/(m²·K) (4 + 4v of ISO 6946 Annex C at 2 m/s), `emissivity` ε, `sky_view` F = (1 + cos
    β)/2. The rest of the view is ground and surroundings at air temperature. Valid as
    `cladding_temperature` and `sky_temperature`; convection 1 to 60 W/(m²·K).

    On a clear night a well-insulated flat roof lies far below air temperature:

    >>> round(float(surface_temperature(10.0, -10.2, 0.0, 0.9, 20.0, 6.0)), 1)
    5.1
    """
    t = within("air temperature", air, -60, 60, "°C")
    s = within("sky temperature", sky, -120, 60, "°C") + KELVIN
    gain = within("solar absorptance", absorptance, 0, 1) * within("irradiance", irradiance, 0, 1500, "W/m²")
    i = within("indoor temperature", indoor, -40, 60, "°C")
    r = within("thermal resistance", resistance, 0.05, 1e6, "m²·K/W")
    h = within("convection coefficient", convection, 1, 60, "W/(m²·K)")
    e = within("emissivity", emissivity, 0, 1) * STEFAN_BOLTZMANN
    f = within("view of the sky", sky_view, 0, 1)
    ta = t + KELVIN
    radiant = e * (f * s**4 + (1.0 - f) * ta**4)
    supply = h * ta + gain + radiant + (i + KELVIN) / r
    conductance = h + 1.0 / r
    x = ta + 0.0 * supply
    # Quadratic convergence on a convex curve: from 500 K off, the first overshoot included, seven steps do.
    for _ in range(7):
        cube = e * x * x * x
        x = x - (conductance * x + cube * x - supply) / (conductance + 4.0 * cube)
    return x - KELVIN


def monthly_roof_temperature(
    air: ArrayLike,
    vapor_pressure: ArrayLike,
    horizontal: ArrayLike,
    latitude: ArrayLike,
    absorptance: ArrayLike,
    indoor: ArrayLike,
    resistance: ArrayLike,
    tilt: ArrayLike = 0.0,
    azimuth: ArrayLike = 180.0,
    emissivity: ArrayLike = 0.9,
) -> Array:
    """Monthly mean temperature of a roof's surface, °C, shape (…, 12), night-sky cooling included.

    Monthly `air`, `vapor_pressure`, `horizontal` and `indoor` (…, 12); the rest scalars or (…). Cloudiness
    follows from the month's clearness (in polar night it is taken as 0.5). See `plane_irradiance`,
    `cloud_cover`, `sky_temperature`, `surface_temperature` for equations and ranges. The mean of a balance
    that is not linear: within about half a kelvin of the mean of hourly balances.

    >>> t, pv, h = np.full(12, 10.0), np.full(12, 900.0), np.full(12, 130.0)
    >>> monthly_roof_temperature(t, pv, h, 45.0, [0.9, 0.2], 20.0, 6.0).shape
    (2, 12)
    """
    top = extraterrestrial(latitude)
    h = within("horizontal irradiance", horizontal, 0, 600, "W/m²")
    clearness = np.clip(h / np.maximum(top, 1e-9), 0.0, 1.0)
    cloud = np.where(top > 10.0, cloud_cover(clearness), 0.5)
    plane = plane_irradiance(horizontal, latitude, tilt, azimuth)
    a, r, e, b = (np.asarray(v, dtype=float)[..., None] for v in (absorptance, resistance, emissivity, tilt))
    view = (1.0 + np.cos(np.radians(b))) / 2.0
    sky = sky_temperature(air, vapor_pressure, cloud)
    return surface_temperature(air, sky, plane, a, indoor, r, emissivity=e, sky_view=view)


def inward_drive(
    cladding: ArrayLike,
    room_temperature: ArrayLike,
    room_vapor_pressure: ArrayLike,
    plane: ArrayLike,
    outer_permeance: ArrayLike,
    inner_permeance: ArrayLike,
    hours: ArrayLike = 6.0,
) -> tuple[Array, Array, Array]:
    """What a wet, sun-warmed cladding drives inwards: (into the plane, condensed, to the room), kg/m² a day.

    The cladding is saturated at `cladding` °C; vapor passes `outer_permeance` to a plane at `plane` °C and
    `inner_permeance` (both kg/(s·m²·Pa)) to the room at `room_temperature` and `room_vapor_pressure`, for
    `hours` a day. The plane's pressure is that of the two in series, unless it would pass saturation there:
    then it is pinned to saturation and the surplus condenses. Steady (no storage), so an upper bound; the
    hours are common practice, no published source. Diffusion as in ISO 13788, 6.3.
    Valid plane at or below the cladding's temperature, permeances 0 to 1e-6; else ValueError.

    >>> into, wet, room = inward_drive(45.0, 24.0, 1490.0, 25.0, 5.7e-10, 5.7e-12)
    >>> round(float(wet) * 1000)
    79
    """
    tc = within("cladding temperature", cladding, -40, 100, "°C")
    tr = within("room temperature", room_temperature, -40, 60, "°C")
    tp = within("plane temperature", plane, -40, 100, "°C")
    pr = within("room vapor pressure", room_vapor_pressure, 0, 2e4, "Pa")
    wo = within("outer permeance", outer_permeance, 0, 1e-6, "kg/(s·m²·Pa)")
    wi = within("inner permeance", inner_permeance, 0, 1e-6, "kg/(s·m²·Pa)")
    seconds = within("hours of drive a day", hours, 0, 24, "h") * 3600.0
    if np.any(tp > tc):
        raise ValueError("the plane must not be warmer than the cladding that drives vapor to it")
    if np.any(pr > saturation_pressure(tr) * (1 + 1e-9)):
        raise ValueError("the room's vapor pressure is above saturation at its temperature")
    source = saturation_pressure(tc)
    total = wo + wi
    free = np.where(total > 0, (wo * source + wi * pr) / np.where(total > 0, total, 1.0), pr)
    p = np.minimum(free, saturation_pressure(tp))
    into, out = wo * (source - p), wi * (p - pr)
    condensed = np.where(free > p, into - out, 0.0)
    return into * seconds, condensed * seconds, out * seconds
