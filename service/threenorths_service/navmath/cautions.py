"""Cautions: what an answer cannot know well. The one list of their codes and meanings."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

__all__ = ["CAUTIONS", "Caution", "caution", "observation_name", "sight_name"]

#: What each caution means, for the documentation. A caution's message in an answer puts the numbers in.
CAUTIONS = MappingProxyType(
    {
        "at_pole": "At a pole every direction is south or north: true and magnetic directions say little there. Work on the grid.",
        "magnetic_blackout": "The horizontal field is under 2000 nT: a magnetic compass is of no use here.",
        "magnetic_caution": "The horizontal field is from 2000 to 6000 nT: a magnetic compass may be of little use here.",
        "own_north_only": "No angle between the norths was given: the bearing is answered from its own north only.",
        "old_sheet": "The printed angle is over 20 years old and may be unreliable (US Army TC 3-25.26, para 6-11).",
        "sheet_angle_not_carried": "The printed angle was used as it stands, without its annual change to the date.",
        "outside_zone": "The square lies in the overlap beyond the edge of its grid zone; it has another name in the zone next door.",
        "square_cut_by_zone": "The edge of the grid zone cuts off this square's centre: the point nearest to it inside the zone was taken.",
        "coarse_reference": "A place was given so coarsely that it limits the answer more than its digits tell.",
        "letter_read_as_hemisphere": "The S after the zone was read as the southern hemisphere; as band S its northing does not fit.",
        "more_digits_than_read": "The reference is written to more digits than were read; the further ones mean nothing.",
        "datum_coarse": "The shift from the datum to WGS 84 is less sure than the reference is fine: trust the place to the stated accuracy only.",
        "ballpark_datum": "No shift from this datum to WGS 84 is known: its latitude and longitude were taken over as they stand, hundreds of metres wrong perhaps.",
        "sheet_on_other_datum": "The places answered are on WGS 84, and the sheet or the datum in use is another: plotted on it they are off by the shift between the two.",
        "sheet_datum_taken": "A latitude and longitude was taken on the sheet's own datum. One from a satellite receiver is on WGS84: then name that datum.",
        "grid_bends_angles": "This grid does not keep angles: a bearing measured on it differs from that on the ground.",
        "old_lettering": "On this ellipsoid the row letters of the squares stand ten rows off those of WGS 84 (lettering AL).",
        "short_reference": "The reference leaves out its grid zone or its square: what is missing was taken from what lies near, or from the sheet.",
        "far_from_near": "The place lies further from the position given as `near` than the stated reach: a slip is likely, see `alternatives`.",
        "outside_sheet": "The place lies outside the edges of the sheet: a slip is likely, see `alternatives`.",
        "sheet_angle_disagrees": "The angle printed on the sheet differs from the model by more than can be explained: see the values.",
        "sheet_angle_stale": "Since the year of the sheet the angle has changed by more than a compass can be read to: use the angle of today.",
        "sheet_change_disagrees": "The sheet's annual change no longer says what the field did: carried by it the angle leads off, see the values.",
        "grid_not_reached": "The line is too long for one grid zone, so no grid direction or distance is given.",
        "long_line": "Over this length the straight line on the map and the line of sight part noticeably; see the values.",
        "flat_crossing": "The sights cross at under 30 or over 150 degrees: a small error in one moves the fix far.",
        "large_residual": "A sight misses the fix by more than three of its standard deviations: suspect a blunder in it.",
        "no_check": "There is no sight more than the unknowns need, so a blunder in one would not show.",
        "weak_geometry": "The ellipse is long for the distances of the marks: its true outline is curved and reaches further than stated.",
        "near_danger_circle": "The observer is near the circle through the marks, where the compass error and the place are hard to tell apart.",
        "sights_disagree": "The sights disagree by more than their standard deviations allow: the ellipse was widened to match.",
        "large_compass_error": "The compass error found is over 10 degrees: look for iron, a wrong north or a wrong mark before you trust it.",
        "zone_in_doubt": "The observer is so near the edge of a grid zone that grid bearings fit one place on its grid and another on the grid next door.",
        "several_places": "More than one place fits the observations: each is given. Tell them apart by what can be seen there.",
        "nearly_meet": "The observations do not quite meet: the place is where they come nearest, within their standard deviations.",
        "blunder_suspected": "One observation contradicts the others by far more than its standard deviation: the fix without it stands beside.",
        "says_nothing": "An observation is so weak beside the others that it adds nothing to the fix.",
        "default_sd": "No standard deviation was given for a sight or another measurement; a usual one was taken, of a sight that of a hand-held sighting compass.",
        "click_tie": "The angle lies midway between two clicks: both settings are given and are as good as each other.",
        "steep_gradient": "On so steep a gradient a measured slope is hard to walk straight; pace counts are little use.",
        "reckoned_only": "The places are reckoned, with nothing to check them: a leg left out, reversed or misread does not show in an ellipse.",
        "misclosure_unexplained": "The walk misses its known end by more than the stated errors explain: the ellipses were widened; look for a blunder in a leg.",
        "compass_rule_coarse": "The compass rule takes all lengths for equally good: the places by least squares are known clearly better.",
        "correction_not_credible": "The compass or pace error that would explain the misclosure is larger than is likely: do not correct by it.",
        "paces_vary": "Paces vary with slope, load, going and darkness: check the count on a measured length of like ground.",
        "weak_estimate": "The standard deviation is over a fifth of the estimate: take it for a rough idea only.",
        "rule_of_thumb": "The rule of thumb differs from the exact relation by over 1 per cent: see the values.",
        "level_walk": "The walk is taken as steady and level: slope, going, load, darkness and rests are not in it.",
        "contours_hide": "A drop or a bluff lower than the contour interval need not show on the map: the slope can be steeper in between.",
        "bare_ground": "Only the ground of the profile was looked at: forest, buildings and weather between hide more.",
        "sight_too_close": "The line of sight passes so near to the ground that the heights do not tell whether it is clear.",
        "never_look_at_the_sun": "Never look at the sun, and never sight it through a lens or a mirror: it blinds. Take the shadow of a plumb line, and keep your back to the sun.",
        "body_not_in_sight": "The body cannot be sighted from there at that moment: see its status.",
        "sky_by_the_watch": "The bearing is as good as the watch: see by how much it changes in a minute.",
        "level_horizon": "The times hold for a level horizon: among hills the sun and the moon rise later and set earlier, and woods are dark sooner.",
        "single_reading": "A single reading cannot show a blunder in itself: take readings on several directions spread around the horizon.",
        "readings_disagree": "The readings disagree by more than their standard deviations allow: that of the error was widened to match.",
        "reading_suspect": "A reading does not go with the others: suspect a blunder in it.",
        "compass_deviates": "The error changes with the direction: correct each bearing by the error for it, and look for iron that is carried or a bent needle.",
        "no_free_station": "No leg's bearings agree, so no station is known to be free of attraction: angles can be trusted, directions only as far as stated.",
        "free_stations_disagree": "Stations that agree with each other do not agree with other such stations: iron may turn the needle alike at both ends of a leg.",
        "traverse_misclosed": "Round the closed traverse the forward and back bearings do not add up: suspect a blunder in a reading.",
        "supports_search_manager": "Search areas support a search manager's judgement and never replace it: they know nothing of paths, ground, weather or the person beyond what was stated.",
        "near_part_left_out": "With a least distance over nothing, somebody who stopped, was hurt or came back is in none of the areas that hold a share: give 0 unless it is sure.",
        "quantiles_beyond_bound": "Many of the distances by the quantiles lie beyond the greatest distance: one of the two does not fit this case.",
        "limits_leave_out": "The limits leave out places that are likely without them: if one of them is wrong, the person may be where no area is. Check each.",
        "areas_not_told_apart": "An area that holds just its share is too small or narrow to be told apart over so far a reach: all that limits and reach leave is given for it.",
        "line_ends_in_reach": "A line not crossed ends within the reach: what lies behind it stays in, as near as the crow flies, though the way around is longer.",
        "start_side_in_doubt": "The place last known is not known well enough to tell its side of a limit: the side of the place as given was taken.",
        "slip_in_doubt": "More than one common slip explains the report: all are listed, and nothing here tells which one it was.",
    }
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution in an answer: a code of `CAUTIONS` and a sentence with the numbers put in."""

    code: str
    message: str


def caution(code: str, message: str | None = None) -> Caution:
    """A caution of the list; with no ``message`` it says what the list says. An unlisted code is a ``KeyError``."""
    return Caution(code, CAUTIONS[code] if message is None else message)


def sight_name(index: int) -> str:
    """A sight in words and by its member: people count from 1, members from 0."""
    return f"sight {index + 1} (sights/{index})"


def observation_name(index: int) -> str:
    """An observation likewise."""
    return f"observation {index + 1} (observations/{index})"
