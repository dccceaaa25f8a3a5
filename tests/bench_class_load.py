"""Thirty people at once: how long a page's answer takes, and whether anything handed in gets lost.

    python tests/bench_class_load.py [--people 30] [--postgres] [--kill app|database] [--think 1.0]

Each person signs in, reads pages and pictures, works through two photos by eye and hands in, over Streamlit's own
socket (`tests.talking`), against the real program in its own process. With `--kill` the app or PostgreSQL is ended
with SIGKILL in the middle and started again; whoever was cut off comes back and goes on. In the end every hand-in that
a page confirmed must be in the records with the answers that were chosen.
"""

import argparse
import os
import random
import re
import signal
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(PROJECT))

from records.classroom.class_work import answers_of  # noqa: E402
from records.store import DATABASE_VARIABLE  # noqa: E402
from rubric.checklist import shipped_checklist  # noqa: E402
from tests.journeys.people import PASSWORD  # noqa: E402
from tests.journeys.school import School, give, open_school, records_of, student  # noqa: E402
from tests.postgres import Server  # noqa: E402
from tests.served import serve, stop  # noqa: E402
from tests.talking import TalkingPage  # noqa: E402

PHOTOS = ("cradle_side", "medium_side", "narrow_side")
NOT_PAGES = ("sign in", "load a photo")
SAID_FIRST = (
    ("When was it taken?", "At the breast: the mouth is on it"),
    ("From where?", "Side: square to the baby's own side"),
)
NEXT_STEPS = ("Next: Points and measures", "Next: Score again", "Next: Hand in")
ANSWERS = ("Seen", "Not seen", "Can't tell from this photo")


class Crowd:
    """What all people share: where the program answers now, what took how long, what was confirmed."""

    def __init__(self, think: float) -> None:
        self.url = ""
        self.think = think
        self.took: dict[str, list[float]] = {}
        self.errors: list[str] = []
        self.confirmed: list[tuple[str, dict[str, str]]] = []
        self.came_back: dict[str, int] = {}
        self.killing = threading.Event()
        self.up = threading.Event()
        self.lock = threading.Lock()

    @contextmanager
    def timed(self, what: str) -> Iterator[None]:
        started = time.perf_counter()
        yield
        with self.lock:
            self.took.setdefault(what, []).append(time.perf_counter() - started)
        time.sleep(random.expovariate(1 / self.think) if self.think else 0)


def sign_in(crowd: Crowd, handle: str) -> TalkingPage:
    """A new page of someone who has an account."""
    page = TalkingPage.of(crowd.url)
    form = page.client.get("/sign-in").text
    token = re.search(r'name="form_token" value="([^"]+)"', form)
    assert token, form[:400]
    with crowd.timed("sign in"):
        answer = page.client.post(
            "/sign-in",
            data={"form_token": token[1], "handle": handle, "password": PASSWORD},
            headers={"Origin": crowd.url},
        )
    answer.raise_for_status()
    return page


def look_around(crowd: Crowd, page: TalkingPage, photo_ids: list[str]) -> None:
    """Read two pages and a picture."""
    for name in ("start", "progress"):
        with crowd.timed("read a page"):
            page.open("" if name == "start" else name)
        crowd.errors += page.errors
        page.errors.clear()
    with crowd.timed("load a photo"):
        page.client.get(f"/photos/{random.choice(photo_ids)}/screen.jpg").raise_for_status()


def work_through(crowd: Crowd, page: TalkingPage, handle: str, work: str, chosen: dict[str, str]) -> None:
    """Score one photo by eye and hand it in, from wherever it was left; `chosen` holds the answers of the first look."""
    with crowd.timed("read a page"):
        page.open("my-work", work=work)
    if page.errors:
        raise RuntimeError(page.errors.pop())
    labels = page.labels("button")
    opening = next((label for label in labels if label.startswith(("Begin with", "Go on with", "Next photo"))), None)
    if opening is None:
        return
    with crowd.timed("open a photo"):
        page.press(opening)
    if NEXT_STEPS[0] in page.labels("button"):
        look_at_it(crowd, page, chosen)
    for button in NEXT_STEPS:
        if button in page.labels("button"):
            with crowd.timed("next step"):
                page.press(button)
    with crowd.timed("hand in"):
        page.press("Hand in")
    # Who was told of a fault saw that something was not kept; only what nobody was warned of must be there.
    if "Hand in" not in page.labels("button") and not page.errors:
        with crowd.lock:
            crowd.confirmed.append((handle, dict(chosen)))
    crowd.errors += page.errors
    page.errors.clear()


def look_at_it(crowd: Crowd, page: TalkingPage, chosen: dict[str, str]) -> None:
    """The first look: when, from where, and every sign."""
    chosen.clear()
    for group, option in SAID_FIRST:
        with crowd.timed("answer"):
            page.choose(group, option)
    for label in [one for one in page.labels("radio") if re.match(r"\d+\. ", one)]:
        chosen[label.split(". ", 1)[1]] = said = random.choice(ANSWERS)
        with crowd.timed("answer"):
            page.choose(label, said)


def a_person(crowd: Crowd, handle: str, work: str, photo_ids: list[str]) -> None:
    """One person's hour; cut off by a kill, they come back."""
    time.sleep(random.random() * 2 * max(crowd.think, 0.2))
    left: list[dict[str, str]] = [{}, {}]
    page: TalkingPage | None = None
    for _ in range(10):
        try:
            page = page or sign_in(crowd, handle)
            while left:
                look_around(crowd, page, photo_ids)
                work_through(crowd, page, handle, work, left[0])
                left.pop(0)
            page.close()
            return
        except Exception as fault:
            if not crowd.killing.is_set():
                with crowd.lock:
                    crowd.errors.append(f"{handle}: {type(fault).__name__}: {str(fault)[:200]}")
                return
            why = f"{type(fault).__name__}: {str(fault)[:100]}"
            with crowd.lock:
                crowd.came_back[why] = crowd.came_back.get(why, 0) + 1
            page = None
            crowd.up.wait(timeout=120)
            time.sleep(1 + random.random())


def main() -> int:
    """Run and print a table; 1 where something was lost or went wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--people", type=int, default=30)
    parser.add_argument("--postgres", action="store_true")
    parser.add_argument("--kill", choices=("app", "database"))
    parser.add_argument("--think", type=float, default=1.0, help="mean seconds between two actions of a person")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        database = (
            Server.running(Path(folder) / "pg" / "server", waits_for_disk=True) if options.postgres else nullcontext()
        )
        with database as server:
            if server is not None:
                os.environ[DATABASE_VARIABLE] = server.url("postgres")
            return run(Path(folder), options, server)


def run(folder: Path, options: argparse.Namespace, server: Server | None) -> int:
    data, log = folder / "data", folder / "log"
    os.environ["LATCH_AND_LINE_JOURNAL"] = str(folder / "journal")
    handles = [f"person {number:02}" for number in range(options.people)]
    with records_of(data) as store:
        school = open_school(store, PHOTOS)
        for handle in handles:
            student(store, school, handle)
        work = give(store, school)
    crowd = Crowd(options.think)
    environment = {"LATCH_AND_LINE_DATA": str(data)}
    crowd.url, app = serve("app.py", log, environment)
    crowd.up.set()
    photo_ids = [photo.id for photo in school.photos]
    people = [
        threading.Thread(target=a_person, args=(crowd, handle, work, photo_ids), daemon=True) for handle in handles
    ]
    started = time.perf_counter()
    for one in people:
        one.start()
    if options.kill:
        app = kill_in_the_middle(crowd, options.kill, app, server, log, environment)
    for one in people:
        one.join(timeout=600)
    seconds = time.perf_counter() - started
    stop(app)
    return report(crowd, school, data, work, seconds, options)


def kill_in_the_middle(crowd: Crowd, what: str, app, server: Server | None, log: Path, environment):
    """End the app or the database with SIGKILL once some have handed in, and start it again."""
    while len(crowd.confirmed) < 5:
        time.sleep(0.2)
    crowd.killing.set()
    crowd.up.clear()
    if what == "app":
        app.send_signal(signal.SIGKILL)
        app.wait()
        crowd.url, app = serve("app.py", log, environment)
    else:
        assert server is not None, "--kill database needs --postgres"
        server.kill()
        time.sleep(1)
        server.start()
    crowd.up.set()
    return app


def report(crowd: Crowd, school: School, data: Path, work: str, seconds: float, options: argparse.Namespace) -> int:
    with records_of(data) as store:
        answers = answers_of(store, school.instructor, work, with_names=True)
    names = {number: one.handle for number, one in enumerate(answers.students)}
    texts = {item.id: item.text for item in shipped_checklist().items}
    kept: dict[str, list[dict[str, str]]] = {}
    for one in answers.submissions:
        said = {texts[item]: answer.answer.value for item, answer in one.first.answers.items()}
        kept.setdefault(str(names[one.student]), []).append(said)
    words = dict(zip(ANSWERS, ("seen", "not_seen", "cant_tell"), strict=True))
    lost = 0
    for handle, chosen in crowd.confirmed:
        expected = {text: words[said] for text, said in chosen.items()}
        if expected not in kept.get(handle, []):
            lost += 1
            print(f"LOST {handle}:", [dict(expected.items() - one.items()) for one in kept.get(handle, [])])
    print(
        f"{options.people} people, {'PostgreSQL' if options.postgres else 'SQLite'}, killed: {options.kill or 'nothing'}"
    )
    print(
        f"{seconds:.0f} s; confirmed hand-ins {len(crowd.confirmed)}, in the records {len(answers.submissions)}, lost {lost}"
    )
    cut_off = sum(crowd.came_back.values())
    print(f"cut off by the kill and come back {cut_off} times; errors {len(crowd.errors)}")
    for why, times in crowd.came_back.items():
        print("   came back after", times, "x", why)
    for error in sorted(set(crowd.errors))[:10]:
        print("  ", error)
    print("| what | n | median s | 95th percentile s |\n|---|---|---|---|")
    pages = [seconds for what, took in crowd.took.items() if what not in NOT_PAGES for seconds in took]
    for what, took in {**crowd.took, "all answers of pages": pages}.items():
        late = statistics.quantiles(took, n=20)[-1]
        print(f"| {what} | {len(took)} | {statistics.median(took):.2f} | {late:.2f} |")
    return int(bool(lost) or bool(crowd.errors and not options.kill) or len(answers.submissions) < 2 * options.people)


if __name__ == "__main__":
    sys.exit(main())
