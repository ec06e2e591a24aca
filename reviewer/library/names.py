"""Names of states, provinces and places, and how they are compared."""

from __future__ import annotations

STATES = {
    "AL": "Alabama", "AK": "Alaska", "AZ": "Arizona", "AR": "Arkansas", "CA": "California", "CO": "Colorado",
    "CT": "Connecticut", "DE": "Delaware", "DC": "District of Columbia", "FL": "Florida", "GA": "Georgia",
    "HI": "Hawaii", "ID": "Idaho", "IL": "Illinois", "IN": "Indiana", "IA": "Iowa", "KS": "Kansas",
    "KY": "Kentucky", "LA": "Louisiana", "ME": "Maine", "MD": "Maryland", "MA": "Massachusetts",
    "MI": "Michigan", "MN": "Minnesota", "MS": "Mississippi", "MO": "Missouri", "MT": "Montana",
    "NE": "Nebraska", "NV": "Nevada", "NH": "New Hampshire", "NJ": "New Jersey", "NM": "New Mexico",
    "NY": "New York", "NC": "North Carolina", "ND": "North Dakota", "OH": "Ohio", "OK": "Oklahoma",
    "OR": "Oregon", "PA": "Pennsylvania", "RI": "Rhode Island", "SC": "South Carolina", "SD": "South Dakota",
    "TN": "Tennessee", "TX": "Texas", "UT": "Utah", "VT": "Vermont", "VA": "Virginia", "WA": "Washington",
    "WV": "West Virginia", "WI": "Wisconsin", "WY": "Wyoming",
}  # fmt: skip

TERRITORIES = {"PR": "Puerto Rico", "VI": "Virgin Islands", "GU": "Guam"}

PROVINCES = {
    "AB": "Alberta", "BC": "British Columbia", "MB": "Manitoba", "NB": "New Brunswick",
    "NL": "Newfoundland and Labrador", "NS": "Nova Scotia", "NT": "Northwest Territories", "NU": "Nunavut",
    "ON": "Ontario", "PE": "Prince Edward Island", "QC": "Quebec", "SK": "Saskatchewan", "YT": "Yukon",
}  # fmt: skip

REGIONS = STATES | TERRITORIES | PROVINCES

_WORDS = {"saint": "st", "sainte": "ste", "mount": "mt", "fort": "ft"}


def plain(text: str) -> str:
    """A name without case, accents, stops and hyphens, and with the usual short words: for comparing.

    >>> plain("Saint-Jérôme"), plain("St. Louis"), plain("Val-d'Or")
    ('st jerome', 'st louis', 'val dor')
    """
    if not text.isascii():
        import unicodedata

        text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    text = text.casefold().replace(".", "").replace("'", "").replace("-", " ").replace("/", " ")
    return " ".join(_WORDS.get(word, word) for word in text.split())


_BY_NAME = {plain(name): code for code, name in REGIONS.items()} | {
    "newfoundland": "NL",
    "labrador": "NL",
    "pei": "PE",
    "yukon territory": "YT",
    "washington dc": "DC",
    "pq": "QC",
}


def region_code(text: str) -> str:
    """The two-letter code of a state, territory or province by code or name; empty when there is none.

    >>> region_code("minn"), region_code("Minnesota"), region_code("on"), region_code("D.C.")
    ('', 'MN', 'ON', 'DC')
    """
    key = plain(text)
    return key.upper() if key.upper() in REGIONS else _BY_NAME.get(key, "")
