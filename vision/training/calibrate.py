"""Factors from the networks' own spread to standard deviations, fitted on one half of the photos kept apart."""

import json
from pathlib import Path

import numpy as np

from vision.detectors.profile_answers import NAMES
from vision.detectors.profile_search import Search, Searcher
from vision.profile_net import face_found, grown, raw_sigma
from vision.training.testset import read_testset

#: Families whose even photos are calibrated on; the odd ones and the family for testing only are left for the test.
CALIBRATED_ON = ("body", "solid", "toy")
#: With a standard deviation that makes 95 % of the errors fall within this many of it, intervals cover as they say.
_Z95 = 1.959964


def searched(folder: Path, family: str, models: Path) -> tuple[list[Search], dict[str, np.ndarray]]:
    """What the networks read in every photo of a family, and the truth."""
    photos, truth = read_testset(folder / f"{family}.npz")
    searcher = Searcher(models)
    return [searcher.search(photo, None) for photo in photos], truth


def _factor(ratios: list[float]) -> float:
    return float(np.quantile(ratios, 0.95) / _Z95)


def _gape(pairs: list[tuple[float, float]]) -> dict[str, float]:
    """Factor and power: intervals are to hold as often where the network is sure as where it doubts."""
    spread, error = np.array(sorted(pairs)).T
    half = len(spread) // 2
    sure, doubtful = (_factor((error[s] / spread[s]).tolist()) for s in (slice(0, half), slice(half, None)))
    apart = float(np.log(np.median(spread[half:]) / np.median(spread[:half])))
    power = float(np.clip(1 + np.log(doubtful / sure) / max(apart, 0.1), 1.0, 2.0))
    widened = [grown(s, power) for s in spread]
    return {"gape": round(_factor((error / widened).tolist()), 3), "gape_power": round(power, 2)}


def fit(found: list[Search], truth: dict[str, np.ndarray], places: list[int]) -> dict:
    """The factors, from the photos at these places."""
    seen: dict[str, list[float]] = {name: [] for name in NAMES}
    hidden: dict[str, list[float]] = {name: [] for name in NAMES}
    yaw: list[float] = []
    gape: list[tuple[float, float]] = []  # the network's own spread, the error
    for search, i in zip(found, places, strict=True):
        if not face_found(search, None):
            continue
        read = search.all
        yaw.append(abs(read.yaw_deg - truth["yaw_deg"][i]) / float(np.hypot(read.yaw_b, read.yaw_spread)))
        gape.append((float(np.hypot(read.gape_b, read.gape_spread)), abs(read.gape_deg - truth["gape_deg"][i])))
        for k, name in enumerate(NAMES):
            if truth["visibility"][i, k] > 0 and read.chances[k, 0] < 0.5:
                group = hidden if read.chances[k, 1] > read.chances[k, 2] else seen
                group[name] += (np.abs(read.points[k] - truth["points"][i, k]) / raw_sigma(read, k)).tolist()
    out: dict = {"seen": {}, "hidden": {}, "yaw": round(_factor(yaw), 3), **_gape(gape)}
    for name in NAMES:
        out["seen"][name] = round(_factor(seen[name]), 3)
        enough = len(hidden[name]) >= 60
        out["hidden"][name] = round(max(_factor(hidden[name]) if enough else 0.0, out["seen"][name]), 3)
    out["photos"] = len(yaw)
    return out


def calibrate(test: Path, models: Path) -> None:
    """Write `profile_calibration.json` beside the models."""
    found: list[Search] = []
    truths: list[dict[str, np.ndarray]] = []
    for family in CALIBRATED_ON:
        if (test / f"{family}.npz").exists():
            searches, truth = searched(test, family, models)
            found += searches[::2]
            truths.append({name: value[::2] for name, value in truth.items()})
    joined = {name: np.concatenate([t[name] for t in truths]) for name in truths[0]}
    facts = fit(found, joined, list(range(len(found))))
    (models / "profile_calibration.json").write_text(json.dumps(facts, indent=1) + "\n", encoding="utf-8")
