"""What whoever keeps an installation does from the command line: back up, restore, verify.

    python -m records backup DEST              DEST: a new file, or a folder in which it is named after the moment
    python -m records restore SRC [--into FOLDER] [--without-journal]
    python -m records verify
    python -m records trust-clock              after a clock that was set ahead by mistake was put right

The data folder, the database, the place of the photos and the journal are those of the program: LATCH_AND_LINE_DATA,
LATCH_AND_LINE_DATABASE, LATCH_AND_LINE_PHOTOS, LATCH_AND_LINE_JOURNAL.
"""

import argparse
import sys
from pathlib import Path

from records.auditing.newest_moment import trust_clock
from records.errors import RecordsError
from records.safekeeping.backup import make_backup
from records.safekeeping.restoring import restore_backup
from records.safekeeping.verifying import verify
from records.store import Store, default_folder


def main(arguments: list[str] | None = None) -> int:
    """Run one command; 0 where all is as it should be, 1 where something is not, 2 where nothing was done."""
    asked = _parser().parse_args(arguments)
    try:
        if asked.command == "restore":
            return _restore(asked.source, asked.into or default_folder(), asked.without_journal)
        _must_be_there()
        store = Store.open()
        try:
            if asked.command == "trust-clock":
                return _trust_clock(store)
            return _backup(store, asked.destination) if asked.command == "backup" else _verify(store)
        finally:
            store.close()
    except RecordsError as fault:
        print(fault, file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m records", description="Back up, restore and verify the records.")
    commands = parser.add_subparsers(dest="command", required=True)
    backup = commands.add_parser("backup", help="write records, photos and consent scans into one file")
    backup.add_argument("destination", type=Path, help="a new file, or a folder")
    restore = commands.add_parser("restore", help="bring a backup back into an empty data folder")
    restore.add_argument("source", type=Path)
    restore.add_argument("--into", type=Path, help="the data folder; by default the program's own")
    restore.add_argument(
        "--without-journal", action="store_true", help="although the journal of withdrawals is lost or too short"
    )
    commands.add_parser("verify", help="check the logs, every file and every stored answer")
    commands.add_parser("trust-clock", help="believe this computer's clock although something on record is newer")
    return parser


def _must_be_there() -> None:
    if not default_folder().is_dir():
        raise RecordsError(f"There is no data folder {default_folder()}.")


def _backup(store: Store, destination: Path) -> int:
    made = make_backup(store, destination)
    print(f"{made.path}: {made.n_photos} photos, {made.n_scans} consent scans, {made.n_bytes / 2**20:.1f} MB.")
    print(f"Not in it, and to be kept for ever: the journal of withdrawals, {store.journal.folder}.")
    for sentence in made.left_out:
        print(f"Left out, {sentence}", file=sys.stderr)
    return 1 if made.left_out else 0


def _restore(source: Path, folder: Path, without_journal: bool) -> int:
    done = restore_backup(source, folder, without_journal=without_journal)
    print(f"{done.folder}: {done.n_photos} photos, as of {done.made_at}.")
    print(f"Withdrawn since then and gone again: {done.n_withdrawn_again} photos.")
    for photo_id in done.missing:
        print(f"The file of photo {photo_id} was not in the backup.", file=sys.stderr)
    return 1 if done.missing else 0


def _trust_clock(store: Store) -> int:
    trust_clock(store)
    print(f"From now on it is {store.now():%d %B %Y, %H:%M} UTC. End this program where it runs, and start it again;")
    print("everyone signs in anew.")
    return 0


def _verify(store: Store) -> int:
    found = verify(store)
    print(
        f"{found.n_log_lines} lines of the audit log, {found.n_journal_lines} of the journal, {found.n_photos} photos, "
        f"{found.n_scans} consent scans, {found.n_keys} reference keys."
    )
    for fault in found.faults:
        print(fault, file=sys.stderr)
    print("All is as it was put there." if not found.faults else f"Faults: {len(found.faults)}.")
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
