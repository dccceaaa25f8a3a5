"""`python -m vision measure PHOTO... [--landmarks FILE.json] [--box X,Y,W,H] [--overlay DIR] [--json]`."""

import sys

from vision.machine import what_this_machine_lacks


def main() -> int:
    """Run the command line and return its exit code; a machine that lacks something gets one sentence."""
    lacking = what_this_machine_lacks()
    if lacking is not None:
        print(lacking, file=sys.stderr)
        return 2
    from vision.commands.command import run  # late: it needs OpenCV

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
