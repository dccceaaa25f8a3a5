"""How long the review of a large class takes, and how much memory: `python tests/bench_class.py [STUDENTS PHOTOS ITEMS]`.

Everything that the review screen and the reports need: figures, findings, photos to show, agreement of all and by item,
Bland-Altman, intraclass correlations, ellipses of 12 landmarks, and the class report in its three forms (told apart).
"""

import json
import re
import sys
import time
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent / "rubric"))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np
from simulated_classes import demo_cohort, simulate_points, simulated_work, visible_items

from rubric.agreement import (
    ICC_NAMES,
    icc,
    krippendorff_alpha,
    smallest_detectable_change,
    standard_error_of_measurement,
)
from rubric.checklist import shipped_checklist
from rubric.reports import class_report, report_csv, report_pdf, report_xlsx
from rubric.review.whole import review_class


def peak_megabytes() -> float:
    """The most memory that this process held; what its parent held before does not count, as it does in getrusage."""
    return int(re.findall(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())[0]) / 1000


def measure(n_students: int = 300, n_photos: int = 100, n_items: int = 20) -> dict[str, float]:
    """Seconds by the clock and of the processor, and peak memory of this process in MB."""
    items = (*visible_items(), *(f"own_sign_{n}" for n in range(n_items)))[:n_items]
    cohort = demo_cohort(n_students, weak_items={items[1]: 0.35}, ambiguous_photos={"photo 07": 0.45})
    work = simulated_work(1, cohort, n_photos=n_photos, items=items)
    landmarks = tuple(f"landmark_{n}" for n in range(12))
    key = np.random.default_rng(1).uniform(0, 1000, (n_photos, len(landmarks), 2))
    points = simulate_points(work.first.key.photos, landmarks, key, cohort, 1)
    icc([[90, 95], [120, 118], [60, 66]], "icc_2_1").interval()  # loads what is loaded once
    memory_before = peak_megabytes()
    clock, processor = time.perf_counter(), time.process_time()
    review = review_class(work, points=points)
    for item in items:
        krippendorff_alpha(review.table.ratings(item))
    for angles in work.angles:
        read = angles.values.T
        for name in ICC_NAMES:
            icc(read, name).interval()
        standard_error_of_measurement(read).interval()
        smallest_detectable_change(read).interval()
    seconds, used = time.perf_counter() - clock, time.process_time() - processor
    memory = peak_megabytes()
    clock = time.perf_counter()
    report = class_report(review, shipped_checklist(), title="Large class", made_on=date(2026, 3, 2))
    sizes = [len(form(report)) for form in (report_csv, report_xlsx, report_pdf)]
    return {
        "seconds": round(seconds, 2),
        "processor_seconds": round(used, 2),
        "peak_memory_mb": round(memory),
        "memory_before_mb": round(memory_before),
        "findings": len(review.points),
        "report_seconds": round(time.perf_counter() - clock, 2),
        "report_bytes": sum(sizes),
    }


if __name__ == "__main__":
    print(json.dumps(measure(*map(int, sys.argv[1:]))))
