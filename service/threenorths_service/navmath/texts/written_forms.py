"""The forms that a written position is read in: each with its rule in a sentence or two, and examples with their reading.

The examples are invented, but for those whose rule names a source. An example of two readings is refused, and both are
listed. A short reference is read near a place alone.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["WRITTEN_FORMS", "Example", "WrittenForm"]


@dataclass(frozen=True, slots=True)
class Example:
    """A text and what it is read as."""

    text: str
    #: The reading in words; two readings are parted by `` or ``.
    read_as: str
    #: The place that the text is read near, as text; ``None`` where it is read anywhere.
    near: str | None = None


@dataclass(frozen=True, slots=True)
class WrittenForm:
    """One way to write a position."""

    name: str
    #: How it is read, with what is code between backticks.
    rule: str
    examples: tuple[Example, ...]


def _form(name: str, rule: str, texts: str, *, read_as: str, near: str | None = None) -> WrittenForm:
    """A form of which every example reads as the same; strokes part the examples."""
    return WrittenForm(name, rule, tuple(Example(text, read_as, near) for text in texts.split(" | ")))


_DEGREES = "latitude 47.5° north, longitude 8.5° east"
_MINUTES = "latitude 47° 30.5' north, longitude 8° 30.5' east"
_SECONDS = "latitude 47° 30' 15\" north, longitude 8° 30' 15\" east"
_UTM = "UTM 32 north 465000 m E 5247000 m N"
_NEAR = "47.1 N 8.5 E"
_NEARBY = "MGRS 32TMT654123"

_ANGLES = (
    _form(
        "Decimal degrees",
        "Two numbers: the latitude first, then the longitude; north and east are positive (ISO 6709). A comma, a "
        "semicolon, a stroke or a space parts them.",
        "47.5, 8.5 | 47.5 8.5 | 47.5;8.5 | +47.5 +8.5",
        read_as=_DEGREES,
    ),
    _form(
        "Signs",
        "A minus is south or west. In words, `minus` and `plus`. With a sign to each and a stroke at the end, as in "
        "ISO 6709, the second sign is no dash.",
        "-47.5, -8.5 | −47.5 −8.5 | minus 47.5, minus 8.5 | -47.5-008.5/",
        read_as="latitude 47.5° south, longitude 8.5° west",
    ),
    _form(
        "Hemisphere letters and words",
        "`N`, `S`, `E`, `W` or the words, before or behind each number. Both coordinates have one, or neither; with them "
        "either coordinate may come first.",
        "47.5 N 8.5 E | N47.5 E8.5 | 8.5E 47.5N | 47.5 degrees north, 8.5 degrees east | north 47.5 by east 8.5",
        read_as=_DEGREES,
    ),
    _form(
        "Names of the coordinates",
        "`lat`, `latitude`, `lon`, `long`, `lng` or `longitude` before or behind a number, or both as a heading.",
        "lat 47.5 lon 8.5 | longitude: 8.5, latitude: 47.5 | 47.5 lat, 8.5 lon | lat/lon: 47.5, 8.5",
        read_as=_DEGREES,
    ),
    _form(
        "Decimal commas",
        "A comma tight between two figures is a decimal mark, where this leaves two coordinates.",
        "47,5 N 8,5 E | 47,5 8,5 | 47,5; 8,5 | 47,5, 8,5",
        read_as=_DEGREES,
    ),
    _form(
        "Degrees and minutes",
        "The parts are set off by their signs, by their names, by spaces, colons or dashes. Only the last has decimals.",
        "47° 30.5' N, 8° 30.5' E | 47°30.5′N 8°30.5′E | 47 30.5 N 8 30.5 E | 47:30.5N 8:30.5E | 47 degrees 30.5 minutes "
        "north, 8 degrees 30.5 minutes east | 47d30.5m N 8d30.5m E | 47° 30,5' N, 8° 30,5' E",
        read_as=_MINUTES,
    ),
    _form(
        "The letter inside",
        "A hemisphere letter tight between degrees and minutes, in both coordinates alike.",
        "47N30.5 008E30.5 | 47N30.5, 8E30.5",
        read_as=_MINUTES,
    ),
    _form(
        "Degrees, minutes and seconds",
        'As degrees and minutes. Seconds have the sign `"`, `″` or two of those for minutes.',
        "47°30'15\"N 8°30'15\"E | 47° 30′ 15″ N, 8° 30′ 15″ E | 47 30 15 N 8 30 15 E | 47-30-15 N 008-30-15 E | 47°30'15''N"
        " 8°30'15''E",
        read_as=_SECONDS,
    ),
    _form(
        "The sign before the point",
        "A point behind the sign of degrees, minutes or seconds begins the decimals of that part, here of the minutes. "
        "Elsewhere a number that begins with a point is no minutes and no seconds.",
        "47°30'.5 N 8°30'.5 E | 47° 30′.5 N, 8° 30′.5 E | 47d30m.5 N 8d30m.5 E | 47 deg 30 min .5 N 8 deg 30 min .5 E",
        read_as=_MINUTES,
    ),
    _form(
        "Points or colons between the parts",
        "Degrees, minutes and seconds parted by points have two figures each in minutes and seconds.",
        "47.30.15 N 8.30.15 E | 47:30:15N 8:30:15E",
        read_as=_SECONDS,
    ),
    _form(
        "Figures run together",
        "With letters, or with a sign to each, a latitude is `DDMM` or `DDMMSS` and a longitude `DDDMM` or `DDDMMSS`, as "
        "in ISO 6709.",
        "473015N 0083015E | N473015 E0083015 | +473015+0083015/",
        read_as=_SECONDS,
    ),
    _form(
        "Longitude to 360 degrees",
        "Without a letter a longitude may count eastward beyond 180.",
        "10.5, 190.25",
        read_as="latitude 10.5° north, longitude 169.75° west",
    ),
)

_GRIDS = (
    _form(
        "MGRS and USNG references",
        "Grid zone, letters of the 100 km square, and figures of easting and northing, as many of each; with spaces, "
        "dashes or commas anywhere between, and `MGRS` or `USNG` before it. It names a square and is read as its middle.",
        "32TMT654123 | 32T MT 654 123 | 32t-mt-654-123 | MGRS: 32TMT 654, 123 | grid reference 32T MT 654 123",
        read_as=_NEARBY,
    ),
    _form(
        "MGRS near the poles",
        "Without a zone number: the letter `A`, `B`, `Y` or `Z` first.",
        "ZAH 12345 12345 | zulu alfa hotel one two three four five one two three four five",
        read_as="MGRS ZAH1234512345",
    ),
    _form(
        "UTM coordinates",
        "The zone with its band letter, or with `north` or `south`, before or behind easting and northing in metres. "
        "Without letters the easting comes first.",
        "32T 465000 5247000 | 465000 5247000 32T | UTM zone 32 north 465000 m E 5247000 m N | 32T 465000mE 5247000mN | "
        "32T 5247000N 465000E | easting 465000, northing 5247000, zone 32T",
        read_as=_UTM,
    ),
    _form(
        "Marks of thousands",
        "In an easting or northing of six or seven figures: commas, apostrophes, points or spaces between groups of "
        "three.",
        "465,000 mE 5,247,000 mN 32T | 32T 465'000 5'247'000 | 32T 465.000 5.247.000 | 32T 465 000 5 247 000",
        read_as=_UTM,
    ),
    _form(
        "Figures of a sheet's margin",
        "Whole coordinates with the outer figures small, or written apart and with their letters.",
        "32T ⁴65⁰⁰⁰ᵐE ⁵²47⁰⁰⁰ᵐN | 32T 4 65 000 mE 52 47 000 mN",
        read_as=_UTM,
    ),
    _form(
        "UPS coordinates",
        "Near the poles: `UPS` with the hemisphere or the letter `A`, `B`, `Y` or `Z`, or that letter alone.",
        "UPS north 2222979 m E 1797474 m N | Z 2222979 1797474 | UPS Z 2222979 1797474 | Z 2,222,979 1,797,474",
        read_as="UPS north 2222979 m E 1797474 m N",
    ),
    _form(
        "British grid references",
        "Two letters and figures, with words that name the grid: `British`, `GB`, `OS`, `OSGB`, `OSGB36` or `BNG`; or "
        "`National Grid` or `NGR`, where the letters tell which.",
        "British grid TQ 30 80 | OS grid reference TQ3080 | TQ 30 80 OSGB | OSGB36 TQ 30 80 | National Grid TQ 30 80 | "
        "NGR TQ 30 80 | BNG TQ 30 80",
        read_as="British grid TQ 30 80",
    ),
    _form(
        "Irish grid references",
        "One letter and figures, with words that name the grid: `Irish`, `OSI` or `OSNI`.",
        "Irish grid O 15 34 | Irish grid reference O1534 | O 15 34 OSI",
        read_as="Irish grid O 15 34",
    ),
)

_SHORT = (
    _form(
        "Figures alone",
        "2, 4, 6, 8 or 10 figures, in one group, in two of as many, or one by one. Read near a place or on a sheet, where"
        " one square alone is within reach. A comma, a semicolon or a stroke may part two groups; if they are degrees "
        "within reach too, both are listed.",
        "654 123 | 654123 | 654-123 | 654, 123 | 654;123 | 654/123 | 6 5 4 1 2 3 | grid reference 654 123 | GR 654123 | "
        "map ref: 654, 123",
        read_as=_NEARBY,
        near=_NEAR,
    ),
    _form(
        "Without the grid zone, or without the square",
        "The square's letters with figures, the zone with figures, or the zone with the square's letters and no band. "
        "Read near a place or on a sheet.",
        "MT 654 123 | MT654123 | 32T 654 123 | 32 MT 654 123 | square MT 654 123",
        read_as=_NEARBY,
        near=_NEAR,
    ),
    _form(
        "Coordinates without their zone",
        "Whole easting and northing, or those with the number of their zone alone. Read near a place or on a sheet.",
        "465000 5212000 | 465000mE 5212000mN | 465 000 5 212 000 | 32 465000 5212000 | ⁴65⁰⁰⁰ᵐE ⁵²12⁰⁰⁰ᵐN",
        read_as="UTM 32 north 465000 m E 5212000 m N",
        near=_NEAR,
    ),
)

_SPOKEN = (
    _form(
        "Spelling alphabet",
        "Letters by the words of ICAO, as `Alfa` or `Alpha`, `Juliett` or `Juliet`, `X-ray` or `Xray`, `Whiskey` or "
        "`Whisky`.",
        "32 tango mike tango 654 123 | 32 Tango, Mike Tango, 654, 123",
        read_as=_NEARBY,
    ),
    _form(
        "Figures in words",
        "One by one, also as they are said: `tree`, `fower`, `fife`, `ait`, `niner`; `nought`; the code words from "
        "`nadazero` to `novenine`; and `double` or `triple` before a figure. A comma may be a pause. Numbers such as "
        "`fifty two`, and `oh`, are refused.",
        "tree two tango mike tango six fife fower one two tree | three two tango, mike tango, six five four, one two "
        "three",
        read_as=_NEARBY,
    ),
    _form(
        "Degrees in words",
        "`Decimal`, `point` and `dot` are the point; `comma` is a comma, which may be a decimal mark.",
        "November four seven, three zero decimal five, Echo eight, three zero decimal five | four seven degrees three "
        "zero point five minutes north, eight degrees three zero point five minutes east | 47 degrees 30 point 5 minutes "
        "north and 8 degrees 30 comma 5 minutes east",
        read_as=_MINUTES,
    ),
)

_AROUND = (
    _form(
        "Brackets, quotation marks and punctuation",
        "Brackets and quotation marks count as spaces, and punctuation at either end as nothing.",
        '(47.5, 8.5) | [47.5; 8.5] | "47.5 N 8.5 E" | «47.5 N 8.5 E». | 47.5 N, 8.5 E!',
        read_as=_DEGREES,
    ),
    _form(
        "Words for a position",
        "`position`, `coordinates` or `location` say nothing of the place. `grid`, `grid reference`, `ref`, `map` or "
        "`square` say that it is no latitude and longitude.",
        "position: 47.5 N 8.5 E | coordinates 47.5, 8.5 | location 47.5 N and 8.5 E",
        read_as=_DEGREES,
    ),
    _form(
        "WGS 84",
        "At the start or the end it says that the text is on WGS 84, whatever datum is given beside it.",
        "47.5, 8.5 WGS84 | 47.5 N 8.5 E (WGS 84) | WGS-84: 47.5 N 8.5 E",
        read_as=_DEGREES,
    ),
    _form(
        "Full-width and other forms of characters",
        "Full-width figures, letters and signs are the plain ones; so are the usual forms of signs for degrees, minutes "
        "and seconds, of dashes and of the minus.",
        "４７．５，　８．５ | Ｎ４７．５ Ｅ８．５ | 47.5º N 8.5˚ E",
        read_as=_DEGREES,
    ),
)

_AMBIGUOUS = (
    _form(
        "Two readings",
        "Where a text can be read in two ways, both are listed and neither is chosen: here `S` may be the band or the "
        "south, and the dash may be a minus.",
        "18S 323483 4306479",
        read_as="UTM 18 south 323483 m E 4306479 m N or UTM 18 north 323483 m E 4306479 m N",
    ),
    _form(
        "A dash that may be a sign",
        "Between two numbers it may part them or belong to the second; beside a letter that says otherwise, a sign has "
        "two readings.",
        "47.5-8.5 | 47.5 - 8.5",
        read_as="latitude 47.5° north, longitude 8.5° west or latitude 47.5° north, longitude 8.5° east",
    ),
)

#: Every form that is read, in the order of a documentation page.
WRITTEN_FORMS: tuple[WrittenForm, ...] = (*_ANGLES, *_GRIDS, *_SHORT, *_SPOKEN, *_AROUND, *_AMBIGUOUS)
