"""One of two windows that save into the same sheet: `saving_window.py FOLDER ATTEMPT NAME` adds sixty items.

Says "ready", waits for a line, and at the end says how often the other window had been faster.
"""

import sys
from dataclasses import replace
from pathlib import Path

from records.attempt.attempts import resume, save_sheet
from records.errors import StaleWrite
from records.identity.people import Person, local_person
from records.store import Store
from rubric.answers import Answer, ItemAnswer


def save_until_it_holds(store: Store, person: Person, attempt_id: str, item_id: str) -> int:
    """Add one item to what is on record; returns how many tries were stale."""
    stale = 0
    while True:
        seen = resume(store, person, attempt_id)
        answers = {**seen.sheet(1).answers, item_id: ItemAnswer(answer=Answer.SEEN)}
        try:
            save_sheet(store, person, attempt_id, 1, replace(seen.sheet(1), answers=answers), seen.sheet_revision(1))
            return stale
        except StaleWrite:
            stale += 1


if __name__ == "__main__":
    folder, attempt_id, name = sys.argv[1:]
    store = Store.open(Path(folder), busy_seconds=30)
    person = local_person(store)
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    sys.stdin.readline()
    sys.stdout.write(str(sum(save_until_it_holds(store, person, attempt_id, f"{name}_{n}") for n in range(60))))
