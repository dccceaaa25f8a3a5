"""Does the GPU draw what the CPU draws? To be run once on the machine that trains, before the time is spent."""

from dataclasses import fields, replace
from pathlib import Path

import torch

from vision.training.renderer import Mesh, Scenes, draw
from vision.training.scenes import TRAIN_FAMILIES, build


def moved_to(scenes: Scenes, device: torch.device) -> Scenes:
    """The same scenes on another device."""
    mesh = scenes.mesh
    if mesh is not None:
        mesh = Mesh(**{f.name: getattr(mesh, f.name).to(device) for f in fields(Mesh)})
    tensors = {f.name: getattr(scenes, f.name) for f in fields(Scenes) if f.name != "mesh"}
    return replace(scenes, mesh=mesh, **{k: None if v is None else v.to(device) for k, v in tensors.items()})


def compare(family: str, geometry: Path | None, n: int = 4, size: int = 96) -> float:
    """Share of pixels whose colour differs by more than 0.03 between CPU and GPU."""
    cpu, gpu = torch.device("cpu"), torch.device("cuda")
    built = build(n, 5, family=family, close=True, device=cpu, geometry=geometry, size=size)
    probes = torch.zeros(n, 1, 3)
    a, _ = draw(built.scenes, built.light_cam, size, probes)
    b, _ = draw(moved_to(built.scenes, gpu), built.light_cam.to(gpu), size, probes.to(gpu))
    return float(((a - b.cpu()).abs().amax(dim=-1) > 0.03).float().mean())


def check(geometry: Path | None) -> None:
    """Print the share of differing pixels for each family; above one percent is an error."""
    for family in TRAIN_FAMILIES:
        if family == "body" and geometry is None:
            continue
        share = compare(family, geometry)
        print(f"{family}: {share:.4%} of the pixels differ", flush=True)
        if share > 0.01:
            raise SystemExit(f"the GPU draws {family} scenes differently from the CPU")
