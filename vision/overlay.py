"""Photo and measures -> a new picture with points, rays, arcs, the body line and a strip of values under it.

The photo that comes in is never changed. Arcs and lines are drawn where the points lie in the picture; a gape that
was put right for the view can differ from the arc, and the number is the one to read.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from PIL import Image

from vision.drawing.footer import footer
from vision.drawing.labels import Label, Layout, Rectangle, write_labels
from vision.drawing.strokes import BODY, GROUP_OF, MARKS, MOUTH, WHITE, Pen
from vision.drawing.words import short_words
from vision.landmarks import LANDMARK_NAMES, LandmarkSet, Visibility
from vision.photo import Photo, reduced
from vision.quantities.results import Measure, Result
from vision.said import Said

#: Everything scales with the picture's longer side: one unit is a pixel at this length.
_UNIT_PER_LONGEST = 1200
#: In small pictures strokes and letters stay wide enough to be seen.
_LEAST_UNIT = 0.75
_LIPS = ("upper_lip_edge", "lower_lip_edge")
_LINE = ("ear", "shoulder", "hip")


@dataclass(frozen=True, kw_only=True)
class _Scene:
    """What is drawn on: points in pixels of the reduced picture, as x + iy."""

    pen: Pen
    layout: Layout
    at: Mapping[str, complex]
    measures: Mapping[str, Result]
    labels: list[Label]
    say: Callable[[str], str]

    def has(self, *names: str) -> bool:
        return all(name in self.at for name in names)


def draw_overlay(
    photo: Photo,
    landmarks: LandmarkSet,
    measures: Mapping[str, Result],
    *,
    longest: int = 1600,
    say: Callable[[str], str] = str,
) -> Photo:
    """A new picture: the photo reduced, with what was measured drawn on it and written under it.

    Parameters
    ----------
    photo : Photo
        Left as it is.
    landmarks : LandmarkSet
        Points in pixels of `photo`.
    measures : mapping of measure name to Measure or NotMeasurable
        As from `vision.measures.measure_all`.
    longest : int
        Longest side of the reduced photo in pixels; the strip of values comes below it.
    say : callable
        From a sentence in English (`vision.said.Said`) to the reader's language; by default it stays English.
    """
    small = reduced(photo, longest)
    canvas = small.pixels.copy()
    shrink = small.width / photo.width
    unit = max(_LEAST_UNIT, max(small.width, small.height) / _UNIT_PER_LONGEST)
    at = {name: complex(point.x, point.y) * shrink for name, point in landmarks.points.items()}
    scene = _Scene(
        pen=Pen(canvas=canvas, unit=unit),
        layout=Layout(width=small.width, height=small.height),
        at=at,
        measures=measures,
        labels=[],
        say=say,
    )
    _draw_body_line(scene)
    _draw_mouth(scene)
    _draw_contacts(scene)
    _draw_points(scene, landmarks)
    image = Image.fromarray(canvas)
    write_labels(image, _placed(scene))
    strip = footer(measures, small.width, 15 * unit, say=say)
    return Photo(pixels=np.vstack([np.asarray(image), strip]))


def _draw_mouth(scene: _Scene) -> None:
    lips = [name for name in _LIPS if scene.has(name)]
    if not scene.has("mouth_corner") or not lips:
        return
    corner = scene.at["mouth_corner"]
    for lip in lips:
        scene.pen.lines([corner, scene.at[lip]], MOUTH.colour)
        scene.layout.avoid_path([corner, scene.at[lip]], 6 * scene.pen.unit)
    if len(lips) == 2:
        radius = 0.55 * min(abs(scene.at[lip] - corner) for lip in lips)
        scene.pen.arc(corner, scene.at[_LIPS[0]], scene.at[_LIPS[1]], radius, MOUTH.colour)
    _value_label(scene, "gape_angle", Said("gape"), corner)


def _draw_body_line(scene: _Scene) -> None:
    path = [scene.at[name] for name in _LINE if scene.has(name)]
    if len(path) < 2:
        return
    scene.pen.lines(path, BODY.colour)
    scene.layout.avoid_path(path, 10 * scene.pen.unit)
    if not scene.has(*_LINE) or not isinstance(scene.measures.get("alignment_angle"), Measure):
        return
    ear, shoulder, hip = path
    if shoulder != hip and ear != shoulder:
        beyond = shoulder + (shoulder - hip) / abs(shoulder - hip) * abs(ear - shoulder)
        scene.pen.dashes(shoulder, beyond, BODY.colour)
        scene.pen.arc(shoulder, ear, hip, 0.3 * min(abs(ear - shoulder), abs(hip - shoulder)), BODY.colour)
    _value_label(scene, "alignment_angle", Said("line"), shoulder)


def _draw_contacts(scene: _Scene) -> None:
    for first, second in (("nose_tip", "breast_at_nose"), ("chin", "breast_at_chin"), ("scale_a", "scale_b")):
        if scene.has(first, second):
            scene.pen.dashes(scene.at[first], scene.at[second], MARKS.colour)


def _draw_points(scene: _Scene, landmarks: LandmarkSet) -> None:
    unit = scene.pen.unit
    for at in scene.at.values():
        scene.layout.avoid_point(at, 1.3 * scene.pen.mark_radius)
    for name, at in scene.at.items():
        group = GROUP_OF[name]
        scene.pen.mark(at, group)
        guessed = landmarks.points[name].visibility == Visibility.HIDDEN
        text = scene.say(Said("{point} (guess)", point=LANDMARK_NAMES[name]) if guessed else LANDMARK_NAMES[name])
        size = 13 * unit
        scene.labels.append(Label(text=text, at=at, size=size, colour=WHITE, gap=11 * unit))


def _value_label(scene: _Scene, name: str, word: str, at: complex) -> None:
    result, unit = scene.measures.get(name), scene.pen.unit
    if isinstance(result, Measure):
        colour = MOUTH.colour if name == "gape_angle" else BODY.colour
        text, size = f"{scene.say(word)} {scene.say(short_words(result))}", 18 * unit
        scene.labels.append(Label(text=text, at=at, size=size, colour=colour, boxed=True, gap=16 * unit))


def _placed(scene: _Scene) -> list[tuple[Label, Rectangle]]:
    """Values first: they get the best places."""
    ordered = sorted(scene.labels, key=lambda label: not label.boxed)
    return [(label, scene.layout.place(label)) for label in ordered]
