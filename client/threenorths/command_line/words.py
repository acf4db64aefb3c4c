"""Numbers as a person in the field reads them: rounded to what they mean, with their units, east and west in words."""

from __future__ import annotations

import datetime

__all__ = [
    "azimuth",
    "degrees",
    "east_west",
    "factor",
    "give_or_take",
    "gradians",
    "latitude_longitude",
    "length_m",
    "length_with_sd_m",
    "mils",
    "minutes",
    "moment",
    "side",
    "signed",
    "spoken",
]


def azimuth(value_deg: float | None) -> str:
    """A direction to a tenth of a degree. One that rounds to the full circle is 0.0; one not known is a dash."""
    return "-" if value_deg is None else f"{round(value_deg, 1) % 360.0:.1f}"


def mils(value: float, circle: int) -> str:
    """A direction to a whole mil of a circle of ``circle``; never the full circle."""
    return str(round(value) % circle)


def gradians(value: float) -> str:
    """A direction to a tenth of a gradian, 400 to the circle."""
    return f"{round(value, 1) % 400.0:.1f}"


def degrees(value_deg: float, places: int = 1) -> str:
    """The size of an angle: ``4.2 degrees``."""
    return f"{abs(value_deg):.{places}f} degrees"


def east_west(value_deg: float | None, places: int = 1) -> str:
    """An angle, east positive, as an instructor says it: ``4.2 degrees east``. One that rounds to nothing has no side."""
    return "not known" if value_deg is None else side(value_deg, "east", "west", places)


def side(value_deg: float, positive: str, negative: str, places: int = 1) -> str:
    """An angle with its sign in words."""
    size = degrees(value_deg, places)
    if float(size.partition(" ")[0]) == 0.0:
        return size
    return f"{size} {positive if value_deg > 0.0 else negative}"


def signed(value: float, places: int = 1) -> str:
    """A number with its sign: ``+0.4``; one that rounds to nothing has none."""
    rounded = round(value, places)
    return f"{0.0:.{places}f}" if rounded == 0.0 else f"{rounded:+.{places}f}"


def give_or_take(value_deg: float | None) -> str:
    """One standard deviation of the angle before: ``, give or take 0.4``; nothing where there is none."""
    if value_deg is None:
        return ""
    return f", give or take {value_deg:.{1 if value_deg >= 0.1 else 3}f}"


def latitude_longitude(lat_deg: float, lon_deg: float) -> str:
    """A place to a millionth of a degree, a decimetre: ``62.940000° N, 13.270000° E``."""
    lat, lon = round(lat_deg, 6), round(lon_deg, 6)
    return f"{abs(lat):.6f}° {'S' if lat < 0 else 'N'}, {abs(lon):.6f}° {'W' if lon < 0 else 'E'}"


def length_m(value_m: float) -> str:
    """A length to a metre, a short one to a decimetre or a millimetre: ``2,500 m``."""
    places = 0 if abs(value_m) >= 10.0 else 1 if abs(value_m) >= 1.0 else 3
    return f"{value_m:,.{places}f} m"


def length_with_sd_m(value_m: float, sd_m: float) -> str:
    """A length with one standard deviation, both as fine as that needs: ``63.3 m, give or take 3.4 m``."""
    places = 0 if sd_m >= 10.0 else 1 if sd_m >= 0.1 else 3
    return f"{value_m:,.{places}f} m, give or take {sd_m:,.{places}f} m"


def minutes(value_min: float) -> str:
    """A time to a minute, from an hour on in hours too, a short one to a tenth: ``1 h 25 min``."""
    if value_min < 10.0:
        return f"{value_min:.1f} min"
    hours, rest = divmod(round(value_min), 60)
    return f"{hours:,} h {rest} min" if hours else f"{rest} min"


def factor(value: float) -> str:
    """A scale factor to what a metre in ten kilometres needs: ``0.99964``."""
    return f"{value:.5f}"


def moment(value: datetime.datetime) -> str:
    """A moment to the second by its own clock, with what that is from UTC: ``2026-11-24 14:56:09+01:00``."""
    return value.isoformat(" ", "seconds").replace("+00:00", " UTC")


def spoken(word: str) -> str:
    """A word of an answer as it is said: ``civil dusk``."""
    return word.replace("_", " ")
