"""From what a client types about where she lives to a time zone's name."""

import datetime as dt
import unicodedata
from functools import lru_cache
from zoneinfo import ZoneInfo

from rapidfuzz import fuzz, process

MOST_OFFERED = 5
NEAR_ENOUGH = 80.0  # of 100, rapidfuzz's ratio; found by trying slips of the finger on city names

# Keys in the time zone data that are no place to live: file system leftovers and "no zone chosen".
NO_PLACE = frozenset({"Factory", "localtime", "posixrules", ""})

# Bare offsets and old short names (EST, W-SU, Etc/GMT-1) can be given in full but are never offered: they
# keep no summer time, or their sign means the opposite of what people expect.
NOT_OFFERED = ("Etc/", "SystemV/", "posix/", "right/")

# Places that gave no zone its name, by the zone they keep. Large towns and one-zone countries only: whoever
# is not found is asked for the nearest big city.
PLACES = {
    "Europe/London": (
        "uk gb britain england scotland wales birmingham manchester glasgow edinburgh cardiff bristol leeds "
        "liverpool sheffield newcastle nottingham leicester aberdeen swansea belfast northern-ireland"
    ),
    "Europe/Dublin": "ireland eire cork galway limerick waterford kilkenny sligo drogheda dundalk",
    "Europe/Berlin": "germany deutschland hamburg munich münchen cologne köln frankfurt stuttgart leipzig",
    "Europe/Paris": "france lyon marseille toulouse lille nantes strasbourg bordeaux",
    "Europe/Madrid": "barcelona valencia seville bilbao",
    "Europe/Rome": "italy italia milan milano naples turin florence bologna",
    "Europe/Amsterdam": "netherlands holland rotterdam utrecht eindhoven",
    "Europe/Brussels": "belgium antwerp ghent bruges",
    "Europe/Zurich": "switzerland geneva basel bern lausanne",
    "Europe/Vienna": "austria graz linz salzburg",
    "Europe/Warsaw": "poland krakow gdansk wroclaw lodz",
    "Europe/Stockholm": "sweden gothenburg malmo uppsala",
    "Europe/Oslo": "norway bergen trondheim stavanger",
    "Europe/Copenhagen": "denmark aarhus odense",
    "Europe/Helsinki": "finland espoo tampere turku",
    "America/New_York": (
        "boston philadelphia washington-dc atlanta miami baltimore charlotte pittsburgh cleveland brooklyn "
        "orlando raleigh columbus nyc"
    ),
    "America/Chicago": "houston dallas austin san-antonio minneapolis milwaukee st-louis memphis nashville",
    "America/Denver": "salt-lake-city albuquerque colorado-springs",
    "America/Phoenix": "tucson",
    "America/Los_Angeles": "san-francisco seattle portland san-diego las-vegas sacramento oakland la",
    "America/Toronto": "ottawa quebec-city hamilton mississauga",
    "America/Edmonton": "calgary",
    "Australia/Sydney": "wollongong newcastle-nsw canberra",
    "Australia/Melbourne": "geelong ballarat bendigo",
    "Australia/Brisbane": "gold-coast cairns townsville",
    "Pacific/Auckland": "new-zealand wellington christchurch dunedin tauranga",
    "Africa/Johannesburg": "south-africa cape-town durban pretoria",
    "Africa/Lagos": "nigeria abuja ibadan",
    "Africa/Nairobi": "kenya mombasa",
    "Asia/Kolkata": "india mumbai delhi bangalore bengaluru chennai hyderabad pune",
    "Asia/Karachi": "pakistan lahore islamabad",
    "Asia/Manila": "philippines cebu",
    "Asia/Tokyo": "japan osaka kyoto",
    "Asia/Dubai": "abu-dhabi uae",
}


def find(typed: str, names: frozenset[str]) -> tuple[str, ...]:
    """The zones somebody may mean, likeliest first; only those among `names`. Empty when nothing is near."""
    wanted = _plain(typed)
    if not wanted:
        return ()
    places = _places(names)
    exact = {zone for place, zone in places if place == wanted}
    if exact:
        return _without_twins(exact)[:MOST_OFFERED]
    near = process.extract(
        wanted,
        [place for place, _ in places],
        scorer=fuzz.ratio,
        score_cutoff=NEAR_ENOUGH,
        limit=4 * MOST_OFFERED,
    )
    # The order of extract is by score; a dict keeps it and drops a zone found under two of its names.
    return tuple(dict.fromkeys(places[index][1] for _, _, index in near))[:MOST_OFFERED]


@lru_cache(maxsize=4)
def _places(names: frozenset[str]) -> list[tuple[str, str]]:
    """Every (place as it may be typed, zone): whole zone names, their last parts, and the table above."""
    offered = sorted(name for name in names if "/" in name and not name.startswith(NOT_OFFERED))
    found = [(_plain(name), name) for name in offered]
    found += [(_plain(name.rpartition("/")[2]), name) for name in offered]
    found += [(_plain(name), name) for name in ("UTC", "GMT") if name in names]
    for zone, places in PLACES.items():
        if zone in names:
            found += [(_plain(place), zone) for place in places.split()]
    return found


def _plain(text: str) -> str:
    """Lower case, without accents, one blank for every blank, hyphen and underline."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return " ".join("".join(c if c.isalnum() or c in "/+" else " " for c in bare.casefold()).split())


def _without_twins(names: set[str]) -> tuple[str, ...]:
    """The names in order, one for each clock: old spellings of one zone keep the same time for ever."""
    by_clock: dict[tuple[object, ...], str] = {}
    for name in sorted(names, key=lambda name: (-len(name), name)):
        by_clock.setdefault(_clock(name), name)
    return tuple(sorted(by_clock.values()))


def _clock(name: str) -> tuple[object, ...]:
    """A zone's offsets on the first of every month of 68 years: equal only for names of one zone."""
    zone = ZoneInfo(name)
    return tuple(
        dt.datetime(year, month, 1, 12, tzinfo=zone).utcoffset()
        for year in range(1970, 2038)
        for month in range(1, 13)
    )
