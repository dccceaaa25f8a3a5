"""Contact sheets of training pictures with the landmarks drawn in, to be looked at before any training."""

from pathlib import Path

import cv2
import numpy as np
from torch import Tensor

from vision.training.scenes import Truth

_COLOURS = (
    (255, 60, 60), (60, 255, 60), (60, 160, 255), (255, 220, 0), (255, 0, 255), (0, 255, 255), (255, 140, 0),
    (160, 90, 255), (255, 255, 255), (170, 170, 170), (120, 255, 160), (255, 150, 200),
)  # fmt: skip


def sheet(pictures: Tensor, truth: Truth, out: Path, *, columns: int = 6, zoom: int = 1) -> None:
    """Write pictures (n, h, w, 3; display values 0 to 255) as one PNG; hidden points are hollow."""
    tiles = []
    for i, picture in enumerate(pictures.cpu().numpy()):
        tile = np.ascontiguousarray(picture.clip(0, 255).astype(np.uint8))
        tile = cv2.resize(tile, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_CUBIC) if zoom > 1 else tile
        for k, colour in enumerate(_COLOURS):
            state = int(truth.visibility[i, k])
            if state:
                x, y = (truth.points[i, k].cpu().numpy() * zoom).round().astype(int)
                cv2.circle(tile, (int(x), int(y)), 2 if zoom == 1 else 3, colour, -1 if state == 2 else 1)
        text = f"yaw {float(truth.yaw_deg[i]):.0f} gape {float(truth.gape_deg[i]):.0f} F {float(truth.face_px[i]):.0f}"
        cv2.putText(tile, text, (3, 11), cv2.FONT_HERSHEY_SIMPLEX, 0.35, (255, 255, 0), 1, cv2.LINE_AA)
        tiles.append(tile)
    while len(tiles) % columns:
        tiles.append(np.zeros_like(tiles[0]))
    rows = [np.concatenate(tiles[i : i + columns], axis=1) for i in range(0, len(tiles), columns)]
    cv2.imwrite(str(out), cv2.cvtColor(np.concatenate(rows, axis=0), cv2.COLOR_RGB2BGR))
