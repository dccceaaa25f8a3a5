"""Takes the shipped doll photos and their reference keys into the store."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from records.photo.samples import ensure_sample
from records.store import Store
from rubric.scoring import key_from_json
from screens.language import N_, _
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LandmarkSet, Point

FOLDER = Path(__file__).resolve().parent.parent / "sample_images"
SCREEN_LONGEST = 1600

#: The truth of a render is exact but for the rounding of its pixels.
RENDER_SIGMA_PX = 1.0


def true_landmarks(truth: dict[str, Any]) -> LandmarkSet:
    """The landmarks of a sample's truth file, in pixels of its picture."""
    scale = truth.get("mm_per_pixel")
    asked = {
        "landmarks": truth["landmarks"],
        "head_yaw_deg": truth.get("head_yaw_deg"),
        "head_yaw_sigma_deg": 1.0 if truth.get("head_yaw_deg") is not None else None,
        "mm_per_pixel": scale,
        "mm_per_pixel_sigma": scale * 0.01 if scale else None,
        "body_view": truth.get("body_view"),
        "camera_elevation_deg": truth.get("camera_elevation_deg"),
    }
    read = landmarks_from_json(asked)
    exact = {
        name: Point(x=point.x, y=point.y, sigma=RENDER_SIGMA_PX, visibility=point.visibility, by="reference")
        for name, point in read.points.items()
    }
    return read.with_points(exact)


#: What the trade calls each way to hold a baby.
HOLDS = {
    "cradle": N_("cradle hold"),
    "cross_cradle": N_("cross-cradle hold"),
    "under_arm": N_("under-the-arm hold"),
    "laid_back": N_("laid-back"),
    "side_lying": N_("side-lying"),
}
_TITLE, _TITLE_OF_SEVERAL = N_("Doll {doll}, {hold}"), N_("Doll {doll}, {hold}, photo {number}")


def shipped_titles() -> dict[str, str]:
    """Sample id -> a title that gives nothing away: the doll, the hold, and a number where both are the same."""
    return {name: pattern.format(**parts) for name, (pattern, parts) in _title_parts().items()}


def shown_title(title: str | None) -> str:
    """A photo's title in the language of the page where it is one of the shipped ones, else as its owner wrote it."""
    pattern, parts = _by_title().get(title or "", ("", {}))
    if not parts:
        return title or ""
    hold = parts["hold"]
    return _(pattern).format(**{**parts, "hold": _(hold)})


def _title_parts() -> dict[str, tuple[str, dict[str, str]]]:
    truths = {file.stem: json.loads(file.read_text(encoding="utf-8")) for file in sorted(FOLDER.glob("*.json"))}
    plain = {name: {"doll": truth["doll"], "hold": HOLDS[truth["hold"]]} for name, truth in truths.items()}
    titles: dict[str, tuple[str, dict[str, str]]] = {}
    for name, parts in plain.items():
        alike = [other for other, there in plain.items() if there == parts]
        number = str(alike.index(name) + 1)
        titles[name] = (_TITLE, parts) if len(alike) == 1 else (_TITLE_OF_SEVERAL, {**parts, "number": number})
    return titles


@cache
def _by_title() -> dict[str, tuple[str, dict[str, str]]]:
    return {pattern.format(**parts): (pattern, parts) for pattern, parts in _title_parts().values()}


def add_shipped_samples(store: Store) -> None:
    """Have every shipped sample on record; what is there already stays as it is."""
    for name, title in shipped_titles().items():
        file = FOLDER / f"{name}.json"
        truth = json.loads(file.read_text(encoding="utf-8"))
        jpeg = file.with_suffix(".jpg").read_bytes()
        # No sample is larger than the screen's copy, so opening them at the first start decodes nothing.
        ensure_sample(
            store,
            sample_id=file.stem,
            jpeg=jpeg,
            screen_jpeg=jpeg,
            width=truth["width"],
            height=truth["height"],
            title=title,
            key=key_from_json(truth["key"]),
            key_landmarks=true_landmarks(truth),
        )


def photo_words(title: str, slot: int | None = None) -> str:
    """What a screen reader calls a photo: its title alone, and only its number where it is class work."""
    if slot is not None:
        return _("practice photo {slot}").format(slot=slot)
    return _("practice photo: {title}").format(title=shown_title(title))
