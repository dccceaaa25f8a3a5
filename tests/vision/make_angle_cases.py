"""Makes tests/data/angle_cases.json: points built from known answers, which Python and the browser must both find.

Nothing of the program is used. A head is built in three dimensions (x along ear → nose tip, y down, z towards the
camera's side), turned by ψ and projected; a body is built from a bend of known size. So the answer comes first and
the points follow from it, the other way round than in the program.

`python tests/vision/make_angle_cases.py` writes the file anew; a test says whether it is up to date.
"""

import json
import math
from pathlib import Path
from typing import Any

TARGET = Path(__file__).resolve().parent.parent / "data" / "angle_cases.json"

#: The constants of the method: half ear breadth over nose–ear depth, half mouth width over face size.
K, W = 0.8, 0.19

Points = dict[str, complex]


def head(
    *, face: float, gape_up: float, gape_down: float, arms: tuple[float, float], psi: float, looks_down: float = 0.0
) -> Points:
    """Mouth, nose tip and ear of a head seen at ψ by a camera that looks down by so many degrees; the corner at 0.

    `gape_up` and `gape_down` are the two rays' angles to the line ear → nose tip in degrees, `arms` their lengths. The
    picture's x runs along the face and its y down where the camera is level.
    """
    forwards, above = math.cos(math.radians(psi)), math.sin(math.radians(looks_down))
    beside = math.sqrt(1 - forwards**2 - above**2)
    camera = (forwards, -above, beside)
    down = [axis + above * part for axis, part in zip((0.0, 1.0, 0.0), camera, strict=True)]
    length = math.hypot(*down)
    down = [part / length for part in down]
    right = (
        down[1] * camera[2] - down[2] * camera[1],
        down[2] * camera[0] - down[0] * camera[2],
        down[0] * camera[1] - down[1] * camera[0],
    )

    def seen(*place: float) -> complex:
        return complex(*(sum(a * b for a, b in zip(axis, place, strict=True)) for axis in (right, down)))

    corner = seen(0, 0, W * face)
    upper = seen(arms[0] * math.cos(math.radians(gape_up)), -arms[0] * math.sin(math.radians(gape_up)), 0)
    lower = seen(arms[1] * math.cos(math.radians(gape_down)), arms[1] * math.sin(math.radians(gape_down)), 0)
    nose = seen(0.25 * face, -0.3 * face, 0)
    ear = seen(0.25 * face - face, -0.3 * face, K * face)
    points = {"mouth_corner": corner, "upper_lip_edge": upper, "lower_lip_edge": lower, "nose_tip": nose, "ear": ear}
    return {name: point - corner for name, point in points.items()}


def bare_mouth(*, depth: float, half_opening: float, psi: float) -> Points:
    """A mouth alone, both lips equally deep, half as wide as its lips are deep, seen at ψ."""
    turn = math.radians(psi)
    along = depth * math.sin(turn) + depth * math.cos(turn)
    return {
        "mouth_corner": 0j,
        "upper_lip_edge": complex(along, -half_opening),
        "lower_lip_edge": complex(along, half_opening),
    }


def body(*, trunk: float, neck: float, bend: float, nose_turn: float | None, heading: float = 0.0) -> Points:
    """Ear, shoulder, hip: a trunk that points to `heading`, the ear `bend` degrees (clockwise) off the produced line.

    `nose_turn` is where the nose tip lies from the ear, degrees clockwise from the trunk's direction.
    """
    up = complex(math.cos(math.radians(heading)), math.sin(math.radians(heading)))

    def turned(deg: float) -> complex:
        return up * complex(math.cos(math.radians(deg)), math.sin(math.radians(deg)))

    shoulder = trunk * up
    ear = shoulder + neck * turned(bend)
    points = {"hip": 0j, "shoulder": shoulder, "ear": ear}
    return points if nose_turn is None else points | {"nose_tip": ear + 100 * turned(nose_turn)}


def offset_percent(trunk: float, neck: float, bend: float) -> float:
    """Height of the triangle ear–shoulder–hip on the side ear–hip over that side, from its area."""
    bend_rad = math.radians(bend)
    whole = trunk**2 + neck**2 + 2 * trunk * neck * math.cos(bend_rad)
    return 100 * trunk * neck * abs(math.sin(bend_rad)) / whole


def placed(
    points: Points, *, roll: float = 0, mirror: bool = False, scale: float = 1, at: complex = 800 + 600j
) -> Points:
    """The points turned in the picture, mirrored, enlarged and moved."""
    turn = complex(math.cos(math.radians(roll)), math.sin(math.radians(roll))) * scale
    return {name: (point.conjugate() if mirror else point) * turn + at for name, point in points.items()}


def case(name: str, points: Points, *, sigma: float | None = None, **more: Any) -> dict[str, Any]:
    """One case; what is not among `more` is expected to be null."""
    expected = {
        key: _rounded(more.pop(key, None)) for key in ("gape_angle", "alignment_angle", "head_deviation", "line_offset")
    }
    entries: dict[str, Any] = {}
    for point_name, point in points.items():
        entries[point_name] = {"x": round(point.real, 9), "y": round(point.imag, 9)} | (
            {"sigma": sigma} if sigma else {}
        )
    return {"name": name, "landmarks": {"landmarks": entries, **more}, "expected": expected}


def _rounded(answer: float | None) -> float | None:
    """To the digits that every machine's mathematics library agrees on."""
    return None if answer is None else round(answer, 9)


def gape_cases() -> list[dict[str, Any]]:
    """Heads seen from several sides, and mouths alone."""
    found = []
    seen_from = ((90, 20, 40), (90, 5, 5), (90, 45, 60), (75, 20, 45), (65, 30, 50), (105, 20, 30), (110, 15, 25))
    for psi, up, down in seen_from:
        points = placed(head(face=300, gape_up=up, gape_down=down, arms=(90, 100), psi=psi))
        name = f"head seen at {psi}°, gape {up + down}°"
        found.append(case(name, points, sigma=2, head_yaw_deg=psi, head_yaw_sigma_deg=4, gape_angle=up + down))
    shapes: list[dict[str, Any]] = [{"roll": 37}, {"roll": 180}, {"mirror": True}, {"scale": 0.3}]
    shapes.append({"mirror": True, "roll": -75, "scale": 2.5})
    for shape in shapes:
        points = placed(head(face=300, gape_up=25, gape_down=45, arms=(80, 95), psi=72), **shape)
        words = ", ".join(f"{key} {value}" for key, value in shape.items())
        more = {"head_yaw_deg": 72, "head_yaw_sigma_deg": 4, "gape_angle": 70}
        found.append(case(f"head seen at 72°, gape 70°, {words}", points, sigma=2 * shape.get("scale", 1), **more))
    for psi, looks_down in ((90, 15), (80, 12), (65, -18), (110, -10), (100, 20)):
        face = head(face=300, gape_up=25, gape_down=50, arms=(80, 95), psi=psi, looks_down=looks_down)
        more = {"head_yaw_deg": psi, "head_yaw_sigma_deg": 4, "camera_elevation_deg": looks_down, "gape_angle": 75}
        points = placed(face, roll=3 * psi, mirror=psi == 80)
        found.append(case(f"head seen at {psi}°, camera looks down by {looks_down}°", points, sigma=2, **more))
    for psi in (70, 90, 100):
        points = placed(bare_mouth(depth=60, half_opening=40, psi=psi), roll=psi)
        more = {"head_yaw_deg": psi, "head_yaw_sigma_deg": 4, "gape_angle": 2 * math.degrees(math.atan2(40, 60))}
        found.append(case(f"mouth alone seen at {psi}°, as deep as half its width", points, sigma=1, **more))
    return found


def edge_cases() -> list[dict[str, Any]]:
    """Where points are unsure or the direction lies at the edge, and a value comes out all the same."""
    yaw = {"head_yaw_sigma_deg": 4}
    found = []
    for down, words in ((86, "hardly in front of"), (110, "behind")):
        points = placed(head(face=300, gape_up=20, gape_down=down, arms=(90, 100), psi=90), roll=70)
        name = f"lower lip {words} the corner: the depth keeps its sign"
        found.append(case(name, points, sigma=3, head_yaw_deg=90, **yaw, gape_angle=20 + down))
    for nearest, said in ((55, 48), (120, 127)):
        points = placed(head(face=300, gape_up=20, gape_down=40, arms=(90, 100), psi=nearest))
        name = f"head said to be seen at {said}°, less than two sigma outside: read as at {nearest}°"
        found.append(case(name, points, sigma=2, head_yaw_deg=said, **yaw, gape_angle=60))
    apart = placed(head(face=300, gape_up=20, gape_down=40, arms=(90, 100), psi=90))
    name = "ear and nose tip as unsure as they are apart"
    found.append(case(name, apart, sigma=120, head_yaw_deg=90, **yaw, gape_angle=60))
    return found


def yaw_unknown_cases() -> list[dict[str, Any]]:
    """Where nobody has said ψ the picture is taken for a side view."""
    side = head(face=300, gape_up=20, gape_down=50, arms=(90, 90), psi=90)
    mouth = {name: side[name] for name in ("mouth_corner", "upper_lip_edge", "lower_lip_edge")}
    shown = {
        "head direction unknown: straight off the picture": placed(side, roll=12),
        "mouth alone, direction unknown": placed(mouth, roll=-20),
        "mouth and ear without a nose, direction unknown": placed(mouth | {"ear": side["ear"]}),
    }
    return [case(name, points, sigma=2, gape_angle=70) for name, points in shown.items()]


def refused_gape_cases() -> list[dict[str, Any]]:
    """Where no gape may come out."""

    def seen(psi: float = 90) -> Points:
        return placed(head(face=300, gape_up=20, gape_down=40, arms=(90, 100), psi=psi))

    def without(name: str) -> Points:
        return {other: point for other, point in seen().items() if other != name}

    yaw = {"head_yaw_sigma_deg": 4}
    side = {"head_yaw_deg": 90, **yaw}
    closed_down = seen() | {"lower_lip_edge": seen()["mouth_corner"]}
    backwards = seen() | {"ear": seen()["nose_tip"], "nose_tip": seen()["ear"]}
    crossed = seen() | {"upper_lip_edge": seen()["lower_lip_edge"], "lower_lip_edge": seen()["upper_lip_edge"]}
    on_nose = seen() | {"ear": seen()["nose_tip"]}
    return [
        case("head turned to the camera: outside the domain", seen(46), sigma=2, head_yaw_deg=46, **yaw),
        case("head turned away: outside the domain", seen(129), sigma=2, head_yaw_deg=129, **yaw),
        case("camera looks down by 25°", seen(), sigma=2, camera_elevation_deg=25, **side),
        case("no lower lip", without("lower_lip_edge"), sigma=2),
        case("no mouth corner", without("mouth_corner"), sigma=2),
        case("ear and nose tip in each other's place", backwards, sigma=1, **side),
        case("lips in each other's place", crossed, sigma=1, **side),
        case("lower lip on the corner", closed_down, sigma=2),
        case("ear on the nose tip", on_nose, sigma=2, **side),
    ]


def reading_cases() -> list[dict[str, Any]]:
    """A detector's own reading of the gape, 84°, on points that say 60°."""
    found = []
    placers = {
        "all three points its own": ("net", "net", "net"),
        "the corner moved by a person": ("student", "net", "net"),
        "the lower lip confirmed by a person": ("net", "net", "student"),
        "all points a person's": ("student", "student", "student"),
    }
    read = {"gape_reading": {"deg": 84, "sigma_deg": 6, "by": "net"}}
    for words, placed_by in placers.items():
        points = placed(head(face=300, gape_up=20, gape_down=40, arms=(90, 100), psi=90))
        answer = 84 if set(placed_by) == {"net"} else 60
        one = case(f"a detector's reading, {words}", points, sigma=2, head_yaw_deg=90, **read, gape_angle=answer)
        for name, by in zip(("mouth_corner", "upper_lip_edge", "lower_lip_edge"), placed_by, strict=True):
            one["landmarks"]["landmarks"][name]["by"] = by
        found.append(one)
    turned = placed(head(face=300, gape_up=20, gape_down=40, arms=(90, 100), psi=30))
    outside = case("a detector's reading outside the domain", turned, sigma=2, head_yaw_deg=30, **read)
    for name in ("mouth_corner", "upper_lip_edge", "lower_lip_edge"):
        outside["landmarks"]["landmarks"][name]["by"] = "net"
    return [*found, outside]


def body_cases() -> list[dict[str, Any]]:
    """Lines of known bend, in several directions of the picture."""
    found = []
    shapes: list[tuple[str, float, float, float, float, dict[str, Any]]] = [
        ("straight, face to the right of it", 400, 160, 0, 90, {}),
        ("straight, face to the left of it", 400, 160, 0, -90, {}),
        ("head forward by 20°", 400, 160, 20, 80, {}),
        ("head back by 20°", 400, 160, -20, 80, {}),
        ("head forward by 35°, face to the other side", 400, 160, -35, -70, {}),
        ("head back by 12.5°, mirrored", 400, 160, -12.5, 100, {"mirror": True}),
        ("head forward by 15°, mirrored and rolled", 400, 160, 15, 85, {"mirror": True, "roll": 130}),
        ("head forward by 90°, sides 3 and 4", 400, 300, 90, 120, {}),
        ("head forward by 150°", 400, 150, 150, 90, {"roll": -60}),
        ("head back by 8° in a large photo", 400, 160, -8, 90, {"scale": 4, "at": 2500 + 1500j}),
    ]
    for name, trunk, neck, bend, nose_turn, shape in shapes:
        points = placed(body(trunk=trunk, neck=neck, bend=bend, nose_turn=nose_turn, heading=-50), **shape)
        answers = {"alignment_angle": 180 - abs(bend), "head_deviation": bend if nose_turn > 0 else -bend}
        found.append(case(name, points, sigma=6, line_offset=offset_percent(trunk, neck, bend), **answers))
    return found


def partial_body_cases() -> list[dict[str, Any]]:
    """Where some of the line's measures are refused."""
    plain = body(trunk=400, neck=160, bend=25, nose_turn=None, heading=10)
    along = body(trunk=400, neck=160, bend=25, nose_turn=5, heading=10)
    offset = offset_percent(400, 160, 25)
    answers = {"alignment_angle": 155, "line_offset": offset}
    hipless = {name: point for name, point in plain.items() if name != "hip"}
    on_hip, on_ear = plain | {"shoulder": plain["hip"]}, plain | {"shoulder": plain["ear"]}
    return [
        case("no nose tip: forward and back unknown", placed(plain), sigma=6, **answers),
        case("face along the line: forward and back unknown", placed(along), sigma=6, **answers),
        case("body turned away from its side view", placed(plain), sigma=6, body_view="turned"),
        case("body said to be seen from its side", placed(plain), sigma=6, body_view="side", **answers),
        case("no hip", placed(hipless), sigma=6),
        case("shoulder on the hip", placed(on_hip), sigma=6, line_offset=0.0),
        case("shoulder on the ear", placed(on_ear), sigma=6, line_offset=0.0),
        case("ear and shoulder as unsure as they are apart", placed(plain), sigma=80, **answers),
    ]


def whole_cases() -> list[dict[str, Any]]:
    """A head on a body: all four measures at once."""
    found = []
    for psi, bend, roll in ((90, 10, 0), (78, -14, 33), (100, 0, -100)):
        face = placed(head(face=200, gape_up=20, gape_down=45, arms=(60, 70), psi=psi))
        ear, nose = face["ear"], face["nose_tip"]
        up = (nose - ear) / abs(nose - ear) * complex(0, -1)
        turn = complex(math.cos(math.radians(bend)), math.sin(math.radians(bend)))
        shoulder = ear - 160 * up * turn
        hip = shoulder - 420 * up
        points = placed(face | {"shoulder": shoulder, "hip": hip}, roll=roll, at=300 + 300j)
        answers = {"gape_angle": 65, "alignment_angle": 180 - abs(bend), "head_deviation": bend}
        more = {"head_yaw_deg": psi, "head_yaw_sigma_deg": 4, "line_offset": offset_percent(420, 160, bend)}
        name = f"whole doll, head seen at {psi}°, bent by {bend}°, rolled by {roll}°"
        found.append(case(name, points, sigma=2, **answers, **more))
    return [*found, case("nothing placed", {})]


def all_cases() -> list[dict[str, Any]]:
    """Every case, in the order of the file."""
    gapes = [*gape_cases(), *edge_cases(), *yaw_unknown_cases(), *refused_gape_cases(), *reading_cases()]
    return [*gapes, *body_cases(), *partial_body_cases(), *whole_cases()]


def as_text() -> str:
    """The file's text: one case a line."""
    return "[\n" + ",\n".join(json.dumps(one, ensure_ascii=False) for one in all_cases()) + "\n]\n"


if __name__ == "__main__":
    TARGET.write_text(as_text(), encoding="utf-8")
