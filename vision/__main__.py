"""`python -m vision measure PHOTO... [--landmarks FILE.json] [--box X,Y,W,H] [--overlay DIR] [--json]`."""

import os
import sys

from vision.machine import what_this_machine_lacks


def main() -> int:
    """Run the command line and return its exit code; a machine that lacks something gets one sentence."""
    lacking = what_this_machine_lacks()
    if lacking is not None:
        print(lacking, file=sys.stderr)
        return 2
    from vision.commands.command import run  # late: it needs OpenCV

    try:
        code = run(sys.argv[1:])
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read the output, `head` for example, has had enough. Python would complain once more at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    return code


if __name__ == "__main__":
    sys.exit(main())
