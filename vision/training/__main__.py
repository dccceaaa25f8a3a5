"""Render, train, export: `python -m vision.training COMMAND --help`.

The whole recipe, on a machine with one or two CUDA devices (without one it runs on the CPU, for hours):

    python -m vision.training geometry --out build/body.npz            (environment of sample_images/render)
    python -m vision.training train --seed 1 --minutes 18 --geometry build/body.npz --out build/net
    python -m vision.training testset --geometry build/body.npz --out build/test
    python -m vision.training export --run build/net --test build/test --out vision/models
    python -m vision.training evaluate --test build/test --models vision/models
"""

import argparse
import os
import subprocess
import sys
from pathlib import Path

NETS = ("finder", "reader")


def _train(args: argparse.Namespace) -> None:
    import torch

    count = torch.cuda.device_count()
    names = [args.net] if args.net else list(NETS)
    if len(names) == 1:
        from vision.training.train import Plan, train

        device = torch.device("cuda" if count else "cpu")
        train(
            Plan(
                net=names[0], close=names[0] == "reader", seed=args.seed, minutes=args.minutes,
                total_minutes=args.total_minutes or args.minutes, out=args.out, geometry=args.geometry, device=device,
                resume=args.resume, restart=args.restart, peak_rate=args.peak_rate, batch=args.batch,
                chunk=args.batch * 5, pool=args.batch * 20, fused=args.fused, shows=args.shows,
            )
        )  # fmt: skip
        return
    # Each net is trained by a process of its own, on a device of its own where there are two, else one after the other.
    share = 1.0 if count >= 2 else 0.5
    running = []
    for i, name in enumerate(names):
        total = (args.total_minutes or args.minutes) * share
        command = [
            sys.executable, "-m", "vision.training", "train", "--net", name, "--seed", str(args.seed), "--batch",
            str(args.batch), "--minutes", str(args.minutes * share), "--total-minutes", str(total), "--out", str(args.out),
        ]  # fmt: skip
        command += ["--geometry", str(args.geometry)] if args.geometry else []
        command += ["--resume", str(args.resume)] if args.resume else []
        command += ["--restart"] * args.restart + ["--fused"] * args.fused
        command += ["--peak-rate", str(args.peak_rate), "--shows", str(args.shows)]
        env = {**os.environ, "CUDA_VISIBLE_DEVICES": str(i)} if count >= 2 else dict(os.environ)
        running.append(subprocess.Popen(command, env=env))
        if count < 2:
            running[-1].wait()
    codes = [process.wait() for process in running]
    if any(codes):
        raise SystemExit(f"training stopped with {codes}")


def _geometry(args: argparse.Namespace) -> None:
    from vision.training.body_export import export

    export(args.out, identities=args.identities, seed=args.seed)


def _check(args: argparse.Namespace) -> None:
    from vision.training.check import check

    check(args.geometry)


def _testset(args: argparse.Namespace) -> None:
    import torch

    from vision.training.testset import write_testset

    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    write_testset(args.out, n=args.n, size=args.size, device=device, geometry=args.geometry, most_bytes=15_500_000)


def _export(args: argparse.Namespace) -> None:
    from vision.training.calibrate import calibrate
    from vision.training.export import export_all

    export_all(args.run, args.out)
    calibrate(args.test, args.out)


def _evaluate(args: argparse.Namespace) -> None:
    from vision.training.evaluate import evaluate

    evaluate(args.test, args.models)


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(prog="python -m vision.training", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)  # fmt: skip
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    one = commands.add_parser("geometry", help="export the parametric body once")
    one.add_argument("--out", type=Path, required=True)
    one.add_argument("--identities", type=int, default=80)
    one.add_argument("--seed", type=int, default=11)
    one.set_defaults(run_command=_geometry)
    two = commands.add_parser("train", help="train both nets on fresh renders")
    two.add_argument("--seed", type=int, default=1)
    two.add_argument("--minutes", type=float, default=9.0)
    two.add_argument("--total-minutes", type=float, default=None, help="of all runs that go on from one another")
    two.add_argument("--geometry", type=Path, default=None)
    two.add_argument("--resume", type=Path, default=None, help="folder of the run to go on from")
    two.add_argument("--restart", action="store_true", help="begin a new course of the learning rate there")
    two.add_argument("--peak-rate", type=float, default=2.5e-3)
    two.add_argument("--shows", type=float, default=3.0, help="how often a render is shown, each time dressed anew")
    two.add_argument("--fused", action="store_true", help="compile the layers into fewer kernels (GPU)")
    two.add_argument("--out", type=Path, required=True)
    two.add_argument("--net", choices=NETS, default=None)
    two.add_argument("--batch", type=int, default=512)
    two.set_defaults(run_command=_train)
    three = commands.add_parser("check", help="compare what GPU and CPU draw")
    three.add_argument("--geometry", type=Path, default=None)
    three.set_defaults(run_command=_check)
    five = commands.add_parser("testset", help="render photos that are kept apart for calibrating and testing")
    five.add_argument("--n", type=int, default=200)
    five.add_argument("--size", type=int, default=576)
    five.add_argument("--geometry", type=Path, default=None)
    five.add_argument("--out", type=Path, required=True)
    five.set_defaults(run_command=_testset)
    four = commands.add_parser("export", help="write the nets as ONNX and their calibration")
    four.add_argument("--run", type=Path, required=True)
    four.add_argument("--test", type=Path, required=True, help="folder that `testset` wrote")
    four.add_argument("--out", type=Path, required=True)
    four.set_defaults(run_command=_export)
    six = commands.add_parser("evaluate", help="report on the photos that calibration did not use")
    six.add_argument("--test", type=Path, required=True)
    six.add_argument("--models", type=Path, required=True)
    six.set_defaults(run_command=_evaluate)
    args = parser.parse_args()
    args.run_command(args)


if __name__ == "__main__":
    main()
