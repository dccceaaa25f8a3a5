"""Both nets as ONNX for OpenCV's DNN module, checked there against PyTorch."""

import warnings
from pathlib import Path

import cv2
import numpy as np
import torch

from vision.training.network import SIZE, ProfileNet

#: Largest difference of any output that is put down to rounding, pixels or the output's own unit.
_TOLERANCE = 2e-3


def load_net(run: Path, name: str) -> ProfileNet:
    """The running mean of a run's weights."""
    net = ProfileNet(name).eval()
    net.load_state_dict(torch.load(run / f"{name}.pt", map_location="cpu", weights_only=True)["mean"])
    return net


def export_net(net: ProfileNet, path: Path, *, seed: int = 0) -> float:
    """Write one net; gives the largest difference between OpenCV's and PyTorch's answers to random pictures."""
    example = torch.randn(1, 3, SIZE, SIZE, generator=torch.Generator().manual_seed(seed))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        torch.onnx.export(
            net, (example,), str(path), opset_version=13, input_names=["picture"], output_names=["answer"], dynamo=False,
            dynamic_axes={"picture": {0: "n"}, "answer": {0: "n"}},
        )  # fmt: skip
    reader = cv2.dnn.readNetFromONNX(str(path))
    worst = 0.0
    for n in (1, 3):
        pictures = torch.randn(n, 3, SIZE, SIZE, generator=torch.Generator().manual_seed(seed + n))
        with torch.no_grad():
            expected = net(pictures).numpy()
        reader.setInput(pictures.numpy())
        worst = max(worst, float(np.abs(reader.forward() - expected).max()))
    if not worst < _TOLERANCE:
        raise RuntimeError(f"OpenCV's answer differs from PyTorch's by {worst:.3g}, more than {_TOLERANCE}")
    return worst


def export_all(run: Path, out: Path) -> None:
    """Both nets of a run."""
    out.mkdir(parents=True, exist_ok=True)
    for name in ("finder", "reader"):
        path = out / f"profile_{name}.onnx"
        print(f"{path.name}: differs from PyTorch by {export_net(load_net(run, name), path):.2g}", flush=True)
