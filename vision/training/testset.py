"""Photos kept apart for calibrating and testing: side views at any roll, written as JPEGs with their truth.

Their seeds, bodies (`held_out`) and one whole family are never trained on. Only photos in which the mouth can be seen, or
lies at the breast with a part of it in sight, are kept.
"""

import itertools
from dataclasses import fields
from pathlib import Path

import cv2
import numpy as np
import torch
from torch import Tensor

from vision.training.pictures import chosen, joined, photos
from vision.training.scenes import TRAIN_FAMILIES, Truth, render

#: Far from the seeds of training, which count up from seed × 1,000,003.
SEED = 2_000_000_000
FAMILIES = (*TRAIN_FAMILIES, "profile")


def usable(truth: Truth) -> Tensor:
    """(n,) whether a person could mark the mouth: nose or ear in sight, and at least two of corner and lip edges."""
    seen = truth.visibility == 2
    inside = (truth.visibility[:, :6] > 0).all(dim=1)
    return inside & (seen[:, :3].sum(dim=1) >= 2) & (seen[:, 3:6].sum(dim=1) >= 2)


def family_photos(family: str, n: int, *, size: int, device: torch.device, geometry: Path | None, seed: int = SEED,
                  chunk: int = 64) -> tuple[Tensor, Truth]:  # fmt: skip
    """`n` photos (n, 3, size, size; display values, on the CPU) and their truth."""
    pictures, truths, have = [], [], 0
    while have < n:
        seed += 1
        rgba, truth = render(chunk, seed % 2**31, family=family, close=False, device=device, geometry=geometry, size=size,
                             held_out=True, side=True)  # fmt: skip
        picture, truth = photos(
            rgba.permute(0, 3, 1, 2).nan_to_num(0.0), truth, seed % 2**31, close=False, borders=False
        )
        keep = usable(truth).nonzero()[:, 0]
        pictures.append(picture[keep].cpu())
        truths.append(chosen(truth, keep))
        have += len(keep)
    truth = joined(truths)
    order = slice(0, n)
    moved = Truth(**{f.name: getattr(truth, f.name)[order].cpu() for f in fields(Truth)})
    return torch.cat(pictures)[:n], moved


def write_testset(
    out: Path, *, n: int, size: int, device: torch.device, geometry: Path | None, most_bytes: int
) -> None:
    """One `FAMILY.npz` each: JPEG bytes end to end, where each starts, and the truth."""
    out.mkdir(parents=True, exist_ok=True)
    for family in FAMILIES:
        if family == "body" and geometry is None:
            continue
        pictures, truth = family_photos(family, n, size=size, device=device, geometry=geometry)
        blobs: list[bytes] = []
        for picture in pictures.permute(0, 2, 3, 1).round().clamp(0, 255).to(torch.uint8).numpy():
            ok, data = cv2.imencode(".jpg", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, 88])
            if not ok or sum(map(len, blobs)) + len(data) > most_bytes:
                break
            blobs.append(data.tobytes())
        k = len(blobs)
        arrays = {f.name: getattr(truth, f.name)[:k].numpy() for f in fields(Truth)}
        starts = np.cumsum([0, *map(len, blobs)])
        np.savez(out / f"{family}.npz", jpegs=np.frombuffer(b"".join(blobs), np.uint8), starts=starts, **arrays)
        print(f"{family}: {k} photos, {starts[-1] / 1e6:.1f} MB", flush=True)


def read_testset(path: Path) -> tuple[list[np.ndarray], dict[str, np.ndarray]]:
    """Photos (uint8, red green blue) and truth of one family."""
    with np.load(path) as z:
        data, starts = z["jpegs"], z["starts"]
        truth = {name: z[name] for name in z.files if name not in ("jpegs", "starts")}
    photos_ = [
        cv2.cvtColor(cv2.imdecode(data[a:b], cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)
        for a, b in itertools.pairwise(starts)
    ]
    return photos_, truth
