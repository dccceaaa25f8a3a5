"""The training loop: fresh pictures, AdamW with a cosine by the clock, running mean of the weights, one checkpoint."""

import json
import time
from dataclasses import dataclass
from pathlib import Path

import torch
from torch import Tensor

from vision.training.losses import losses
from vision.training.network import ProfileNet
from vision.training.stream import Stream


@dataclass(frozen=True, kw_only=True)
class Plan:
    """One run.

    Parameters
    ----------
    net : str
        "finder", "reader" or "tiny".
    minutes, total_minutes : float
        Of this run, and of all runs that go on from one another: the learning rate follows the total.
    steps : int or None
        Stop after so many steps whatever the clock says.
    resume, restart : Path or None, bool
        Folder of a run to go on from, and whether the learning rate starts a new cosine then.
    shows, fused : float, bool
        How often a render is shown, each time in another dress; whether the layers are compiled into fewer kernels.
    """

    net: str
    close: bool
    seed: int
    minutes: float
    total_minutes: float
    out: Path
    geometry: Path | None
    device: torch.device
    batch: int = 512
    chunk: int = 768
    pool: int = 6144
    peak_rate: float = 2.5e-3
    steps: int | None = None
    size: int = 256
    shows: float = 3.0
    resume: Path | None = None
    restart: bool = False
    fused: bool = False


def _rate(progress: float, peak: float) -> float:
    warm = 0.02
    if progress < warm:
        return peak * (0.05 + 0.95 * progress / warm)
    x = (progress - warm) / (1 - warm)
    return peak * (0.5 * (1 + float(torch.cos(torch.tensor(torch.pi * min(x, 1.0))))) + 0.002)


def _averaged(mean: dict[str, Tensor], now: dict[str, Tensor], step: int) -> None:
    keep = min(0.9985, (step + 1) / (step + 12))
    floats = [k for k, v in now.items() if v.is_floating_point()]
    torch._foreach_lerp_([mean[k] for k in floats], [now[k] for k in floats], 1 - keep)
    for k in now.keys() - set(floats):
        mean[k].copy_(now[k])


def _save(plan: Plan, model: ProfileNet, optimizer: torch.optim.Optimizer, mean: dict[str, Tensor], elapsed: float,
          step: int, seed: int) -> None:  # fmt: skip
    """The checkpoint; the optimizer's moments in half the bits, for they travel with it."""
    plan.out.mkdir(parents=True, exist_ok=True)
    facts = {"elapsed": elapsed, "step": step, "seed": seed}
    torch.save({"model": model.state_dict(), "mean": mean, **facts}, plan.out / f"{plan.net}.pt")
    state = optimizer.state_dict()
    state["state"] = {
        i: {k: v.bfloat16() if k.startswith("exp") else v for k, v in moments.items()}
        for i, moments in state["state"].items()
    }
    torch.save(state, plan.out / f"{plan.net}.opt.pt")


def train(plan: Plan) -> list[float]:
    """Run, write `NET.pt` and `NET.log.json` under `out`, and give the loss of each report."""
    began = time.monotonic()
    torch.manual_seed(plan.seed)
    torch.backends.cuda.matmul.allow_tf32 = True
    cuda = plan.device.type == "cuda"
    model = ProfileNet(plan.net).to(plan.device).to(memory_format=torch.channels_last)
    decay = [p for p in model.parameters() if p.dim() > 1]
    rest = [p for p in model.parameters() if p.dim() <= 1]
    optimizer = torch.optim.AdamW(
        [{"params": decay, "weight_decay": 0.03}, {"params": rest, "weight_decay": 0.0}], lr=1e-3, fused=cuda
    )
    mean = {k: v.detach().clone() for k, v in model.state_dict().items()}
    elapsed, step, seed = 0.0, 0, plan.seed
    checkpoint = (plan.resume or plan.out) / f"{plan.net}.pt"
    if checkpoint.exists():
        kept = torch.load(checkpoint, map_location=plan.device, weights_only=True)
        model.load_state_dict(kept["model"])
        moments = checkpoint.with_suffix(".opt.pt")
        if moments.exists():
            optimizer.load_state_dict(torch.load(moments, map_location=plan.device, weights_only=True))
        mean = kept["mean"]
        elapsed, step, seed = 0.0 if plan.restart else kept["elapsed"], kept["step"], kept["seed"] + 500_000
    if plan.fused:
        model.features = torch.compile(model.features)  # type: ignore[method-assign]
    stream = Stream(
        close=plan.close, seed=seed * 1_000_003 % 2**30, device=plan.device, geometry=plan.geometry, batch=plan.batch,
        chunk=plan.chunk, pool=plan.pool, size=plan.size, shows=plan.shows,
    )  # fmt: skip
    reports, start, sums, since = [], step, {}, 0
    while (time.monotonic() - began) < plan.minutes * 60 and (plan.steps is None or step - start < plan.steps):
        progress = (elapsed + time.monotonic() - began) / (plan.total_minutes * 60)
        if plan.steps is not None and plan.minutes > 1e6:
            progress = (step - start) / plan.steps
        for group in optimizer.param_groups:
            group["lr"] = _rate(progress, plan.peak_rate)
        picture, truth = stream.batch()
        with torch.autocast(plan.device.type, dtype=torch.bfloat16, enabled=cuda):
            answer = model.answer(picture.contiguous(memory_format=torch.channels_last))
        parts = losses(answer, truth)
        total = torch.stack(list(parts.values())).sum()
        optimizer.zero_grad(set_to_none=True)
        total.backward()
        norm = torch.nn.utils.clip_grad_norm_(model.parameters(), 2.0)
        if cuda:  # without waiting for the number
            optimizer.grad_scale, optimizer.found_inf = None, (~torch.isfinite(norm)).float()
            optimizer.step()
        elif torch.isfinite(norm):
            optimizer.step()
        _averaged(mean, model.state_dict(), step)
        step, since = step + 1, since + 1
        for name, value in {**parts, "total": total}.items():
            sums[name] = sums.get(name, 0) + value.detach()
        every = 100 if cuda else 5
        if step % every == 0:
            said = {name: round(float(value) / since, 4) for name, value in sums.items()}
            spent = time.monotonic() - began
            reports.append(said["total"])
            rate = stream.shown / spent
            print(
                f"{plan.net} step {step} {spent:.0f} s {rate:.0f}/s rendered {stream.rendered} {json.dumps(said)}",
                flush=True,
            )
            sums, since = {}, 0
        if step % 1000 == 0 and plan.steps is None:
            _save(plan, model, optimizer, mean, elapsed + time.monotonic() - began, step, seed)
    elapsed += time.monotonic() - began
    stream.close()
    _save(plan, model, optimizer, mean, elapsed, step, seed)
    facts = {
        "net": plan.net,
        "steps": step,
        "seconds": round(elapsed),
        "shown": stream.shown,
        "rendered": stream.rendered,
    }
    (plan.out / f"{plan.net}.log.json").write_text(json.dumps({**facts, "loss": reports}))
    return reports
