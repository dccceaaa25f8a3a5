"""How pictures are put into groups."""

from collections.abc import Callable

from vision.bench.renders import BenchPicture
from vision.bench.scoring import MOUTH, gape_asked, seen
from vision.quantities.head_view import MAX_CAMERA_ELEVATION_DEG

_LEVEL_DEG = 8.0


def band(value: float | None, edges: tuple[float, ...], unit: str = "°") -> str:
    """The band that a value lies in, lower edge included.

    >>> band(75.0, (55, 75, 90)), band(12.0, (55, 75, 90)), band(None, (55,))
    ('75–90°', 'below 55°', 'unknown')
    """
    if value is None:
        return "unknown"
    below = [edge for edge in edges if edge <= value]
    above = [edge for edge in edges if edge > value]
    if not below:
        return f"below {edges[0]:g}{unit}"
    if not above:
        return f"{edges[-1]:g}{unit} and more"
    return f"{below[-1]:g}–{above[0]:g}{unit}"


def roll_group(roll_deg: float | None) -> str:
    """The quarter of the circle that the crown of the head points to.

    >>> roll_group(350.0), roll_group(100.0)
    ('crown up', 'crown right')
    """
    if roll_deg is None:
        return "unknown"
    return ("crown up", "crown right", "crown down", "crown left")[int(((roll_deg + 45) % 360) // 90)]


def _height(elevation_deg: float) -> str:
    """Where the camera stands, seen from the face, level within 8 degrees."""
    side = "above" if elevation_deg > 0 else "below"
    if abs(elevation_deg) <= _LEVEL_DEG:
        return "level"
    return f"8–20° {side}" if abs(elevation_deg) <= MAX_CAMERA_ELEVATION_DEG else f"over 20° {side}"


def _tone(picture: BenchPicture) -> str:
    first = (int(picture.groups["tone"]) - 1) // 2 * 2 + 1
    return f"{first}–{first + 1}"


#: Name of a grouping -> the group of a picture.
GROUPINGS: dict[str, Callable[[BenchPicture], str]] = {
    "all": lambda _: "all",
    "gape domain": lambda picture: "inside" if gape_asked(picture) else "outside",
    "yaw": lambda picture: band(picture.head_yaw_deg, (55, 75, 90, 105, 120)),
    "camera height": lambda picture: _height(picture.elevation_deg),
    "roll": lambda picture: roll_group(picture.head_roll_deg),
    "gape": lambda picture: band(picture.gape_deg, (70, 90, 110)),
    "skin tone": _tone,
    "light": lambda picture: picture.groups["light"],
    "blur": lambda picture: {"0": "sharp"}.get(picture.groups["blur"], f"{picture.groups['blur']} px"),
    "covered": lambda picture: picture.groups["cover"],
    "mouth": lambda picture: "all seen" if seen(picture, MOUTH) else "a part hidden",
    "hold": lambda picture: picture.groups["hold"],
    "phase": lambda picture: picture.groups["phase"],
}
#: Groups that are not in the order of their names, in the order in which a reader expects them.
_READING_ORDER = (
    *("inside", "outside"),
    *("none", "all seen", "sharp", "bright", "even", "dim"),
    *("below 55°", "55–75°", "75–90°", "90–105°", "105–120°", "120° and more"),
    *("below 70°", "70–90°", "90–110°", "110° and more"),
    *("over 20° below", "8–20° below", "level", "8–20° above", "over 20° above"),
    *("crown up", "crown right", "crown down", "crown left"),
)


def sorted_groups(names: set[str]) -> list[str]:
    """Groups in the order in which a reader expects them.

    >>> sorted_groups({"dim", "bright"}), sorted_groups({"5–6", "1–2"})
    (['bright', 'dim'], ['1–2', '5–6'])
    """
    return sorted(names, key=lambda name: (_READING_ORDER.index(name) if name in _READING_ORDER else 99, name))
