"""What the detector reaches on photos kept apart, by family and by skin tone, as a table for the card."""

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from vision.detectors.profile_answers import NAMES
from vision.detectors.profile_search import Search
from vision.landmarks import LandmarkSet
from vision.measures import measure_all
from vision.profile_net import ProfileDetector, face_found
from vision.quantities.results import Measure
from vision.training.calibrate import CALIBRATED_ON, searched
from vision.training.testset import FAMILIES

_Z95 = 1.959964
_MOUTH = NAMES[:3]


@dataclass
class Errors:
    """Errors of one quantity and how its intervals stand to them."""

    error: list[float] = field(default_factory=list)
    half_width: list[float] = field(default_factory=list)
    miss: list[float] = field(default_factory=list)

    def add(self, value: float, low: float, high: float, true: float) -> None:
        """One photo."""
        self.error.append(abs(value - true))
        self.half_width.append((high - low) / 2)
        self.miss.append(max(low - true, true - high))

    def line(self, of: int) -> str:
        """Count, median, 90th percentile, coverage, width over error, confidently wrong."""
        if not self.error:
            return f"0 of {of}"
        median = float(np.median(self.error))
        return (
            f"{len(self.error)} of {of}: median {median:.1f}, 90th {np.quantile(self.error, 0.9):.1f}, coverage "
            f"{np.mean(np.array(self.miss) <= 0):.1%}, half-width over median error "
            f"{np.median(self.half_width) / max(median, 1e-9):.1f}, misses by more than 15: "
            f"{np.mean(np.array(self.miss) > 15):.1%}"
        )


def _alignment(points: np.ndarray) -> float:
    ear, shoulder, hip = (complex(*points[k]) for k in (5, 6, 7))
    return 180 - abs(float(np.degrees(np.angle((ear - shoulder) * np.conj(shoulder - hip)))))


@dataclass
class Report:
    """What one group of photos gave."""

    photos: int = 0
    faces: int = 0
    mouths: int = 0
    gape: Errors = field(default_factory=Errors)
    direct: Errors = field(default_factory=Errors)
    alignment: Errors = field(default_factory=Errors)
    yaw: Errors = field(default_factory=Errors)
    mouth_error: list[float] = field(default_factory=list)
    within: list[bool] = field(default_factory=list)

    def add(self, found: Search, detector: ProfileDetector, size: int, truth: dict[str, np.ndarray], i: int) -> None:
        """One photo."""
        self.photos += 1
        if not face_found(found, None):
            return
        self.faces += 1
        read = found.all
        marks = detector.proposed(read, size, size).landmarks
        self._points(marks, truth, i)
        measures, true = measure_all(marks), float(truth["gape_deg"][i])
        line, through = measures["alignment_angle"], measure_all(replace(marks, gape=None))["gape_angle"]
        for measure, errors in ((through, self.gape), (measures["gape_angle"], self.direct)):
            if isinstance(measure, Measure):
                errors.add(measure.value, measure.low, measure.high, true)
        if isinstance(line, Measure) and (truth["visibility"][i, 5:8] > 0).all():
            self.alignment.add(line.value, line.low, line.high, _alignment(truth["points"][i]))
        if marks.head_yaw is not None:
            reach = _Z95 * marks.head_yaw.sigma_deg
            self.yaw.add(
                marks.head_yaw.deg, marks.head_yaw.deg - reach, marks.head_yaw.deg + reach, float(truth["yaw_deg"][i])
            )

    def _points(self, marks: LandmarkSet, truth: dict[str, np.ndarray], i: int) -> None:
        self.mouths += all(name in marks.points for name in _MOUTH)
        for k, name in enumerate(NAMES):
            point = marks.get(name)
            if point is None or point.sigma is None or truth["visibility"][i, k] == 0:
                continue
            off = np.array([point.x, point.y]) - truth["points"][i, k]
            self.within += (np.abs(off) < _Z95 * point.sigma).tolist()
            if k < 3 and truth["visibility"][i, k] == 2:
                self.mouth_error.append(float(np.hypot(*off) / truth["face_px"][i] * 100))

    def text(self) -> str:
        """Some lines."""
        mouth = (
            f"{np.median(self.mouth_error):.1f} / {np.quantile(self.mouth_error, 0.9):.1f}" if self.mouth_error else "-"
        )
        return "\n".join(
            [
                f"  face found {self.faces}, mouth placed {self.mouths} of {self.photos}; mouth points seen, % of face size {mouth}; "
                f"points inside their intervals {np.mean(self.within):.1%}",
                f"  gape through the points      {self.gape.line(self.photos)}",
                f"  gape as proposed             {self.direct.line(self.photos)}",
                f"  alignment                    {self.alignment.line(self.photos)}",
                f"  head yaw                     {self.yaw.line(self.photos)}",
            ]
        )


def evaluate(test: Path, models: Path) -> None:
    """Print the report of each family, on the photos that calibration did not use, and by skin tone."""
    detector = ProfileDetector(models)
    tones = {band: Report() for band in ("tone 0-3 (light)", "tone 3-6", "tone 6-9 (dark)")}
    yaws = {band: Report() for band in ("yaw 60-80", "yaw 80-100", "yaw 100-120")}
    for family in FAMILIES:
        if not (test / f"{family}.npz").exists():
            continue
        found, truth = searched(test, family, models)
        report, near = Report(), Report()
        for i, search in enumerate(found):
            if family in CALIBRATED_ON and i % 2 == 0:
                continue
            report.add(search, detector, 576, truth, i)
            if abs(truth["yaw_deg"][i] - 90) <= 10:
                near.add(search, detector, 576, truth, i)
            if family in CALIBRATED_ON:
                list(tones.values())[min(2, int(truth["tone"][i] // 3))].add(search, detector, 576, truth, i)
                list(yaws.values())[min(2, int((truth["yaw_deg"][i] - 60) // 20))].add(search, detector, 576, truth, i)
        print(f"{family}\n{report.text()}\n {family}, within 10 degrees of the side view\n{near.text()}", flush=True)
    for band, report in (tones | yaws).items():
        print(f"{band}, families in training\n{report.text()}", flush=True)
