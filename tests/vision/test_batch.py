"""A batch goes on where it was cut off, tells no photo twice, and gives the same numbers wherever it is measured."""

import io
import json
import warnings
from pathlib import Path

import pytest
from batch_works import count_bytes, die_of_poison, measure_slowly

from vision.commands.batch_results import ResultsFile, photo_files
from vision.commands.batch_workers import by_cluster, by_processes
from vision.commands.command import run
from vision.errors import CannotDo

SAMPLES = sorted((Path(__file__).parents[2] / "sample_images").glob("*.jpg"))[:4]


def lines_of(path: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def some_files(folder: Path, n: int) -> list[Path]:
    folder.mkdir(exist_ok=True)
    files = [folder / f"{number:02}.jpg" for number in range(n)]
    for number, file in enumerate(files):
        file.write_bytes(b"x" * (number + 1))
    return files


def test_folders_are_searched_each_photo_stands_once_and_other_files_are_left(tmp_path: Path) -> None:
    files = some_files(tmp_path / "deep", 3)
    (tmp_path / "notes.txt").write_text("no photo")
    assert photo_files([tmp_path, files[0], tmp_path]) == tuple(file.resolve() for file in files)


def test_what_is_not_there_is_said_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(CannotDo, match="There is no file or folder"):
        photo_files([tmp_path / "nothing"])
    with pytest.raises(CannotDo, match="no photo to measure"):
        photo_files([tmp_path])


def test_a_line_that_was_cut_off_is_taken_out_and_the_whole_ones_stay(tmp_path: Path) -> None:
    out = tmp_path / "results.jsonl"
    with ResultsFile(out) as results:
        results.add(Path("/a"), {"photo": "a"})
        results.add(Path("/b"), {"photo": "b"})
    whole = out.read_bytes()
    out.write_bytes(whole + b'{"file": "/c", "pho')
    with ResultsFile(out) as results:
        assert results.done == {"/a", "/b"}
        results.add(Path("/c"), {"photo": "c"})
    assert [line["file"] for line in lines_of(out)] == ["/a", "/b", "/c"]
    assert out.read_bytes().startswith(whole)


def test_a_file_that_holds_something_else_is_left_alone(tmp_path: Path) -> None:
    out = tmp_path / "letter.txt"
    out.write_text("Dear all,\n")
    with pytest.raises(CannotDo, match="something else than results in line 1"):
        ResultsFile(out)
    assert out.read_text() == "Dear all,\n"


def test_two_processes_share_the_work_and_lose_nothing(tmp_path: Path) -> None:
    files = some_files(tmp_path, 20)
    said = dict(by_processes(files, 2, count_bytes))
    assert {file: value["length"] for file, value in said.items()} == {f: i + 1 for i, f in enumerate(files)}


def test_a_photo_that_kills_its_process_is_given_up_and_all_others_are_told(tmp_path: Path) -> None:
    files = some_files(tmp_path, 8)
    files[3].write_bytes(b"poison")
    said = dict(by_processes(files, 2, die_of_poison))
    assert set(said) == set(files)
    assert [file for file, value in said.items() if "error" in value] == [files[3]]
    assert "given up" in said[files[3]]["error"]


def test_a_file_that_went_away_is_told_and_the_batch_goes_on(tmp_path: Path) -> None:
    files = some_files(tmp_path, 3)
    files[1].unlink()
    said = dict(by_processes(files, 1, count_bytes))
    assert "cannot be read" in said[files[1]]["error"]
    assert len(said) == 3


def test_a_batch_measures_what_has_no_line_yet_and_says_the_numbers_of_a_single_photo(tmp_path: Path) -> None:
    out, err, one = tmp_path / "results.jsonl", io.StringIO(), io.StringIO()
    arguments = ["measure", "--out", str(out), "--processes", "2"]
    assert run([*arguments, str(SAMPLES[0])], err=err) == 0
    first = out.read_bytes()
    assert run([*arguments, *map(str, SAMPLES[:2])], err=err) == 0
    assert out.read_bytes().startswith(first)
    assert "1 of 2 photos have their line already" in err.getvalue()
    lines = lines_of(out)
    assert [line["file"] for line in lines] == [str(file) for file in SAMPLES[:2]]
    assert run(["measure", "--json", *map(str, SAMPLES[:2])], out=one) == 0
    single = [json.loads(line) for line in one.getvalue().splitlines()]
    assert [{k: v for k, v in line.items() if k != "file"} for line in lines] == single


def test_a_broken_photo_has_its_line_and_the_batch_says_so(tmp_path: Path) -> None:
    [broken] = some_files(tmp_path / "in", 1)
    err = io.StringIO()
    assert run(["measure", "--out", str(tmp_path / "r.jsonl"), str(broken)], err=err) == 1
    [line] = lines_of(tmp_path / "r.jsonl")
    assert set(line) == {"file", "photo", "error"}
    assert "1 of 1 photos could not be measured" in err.getvalue()


@pytest.mark.parametrize(
    "more",
    [["--json"], ["--box", "1,1,5,5"], ["--processes", "0"], ["--processes", "2", "--scheduler", "tcp://127.0.0.1:9"]],
)
def test_options_that_do_not_go_together_are_refused(tmp_path: Path, more: list[str]) -> None:
    err = io.StringIO()
    assert run(["measure", "--out", str(tmp_path / "r.jsonl"), str(SAMPLES[0]), *more], err=err) == 2
    assert len(err.getvalue().splitlines()) == 1


def test_a_cluster_that_loses_a_worker_in_the_middle_gives_the_same_numbers_and_no_photo_twice() -> None:
    """Two workers, one killed once the first photo has come back."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from distributed import LocalCluster

        with LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address="127.0.0.1:0"
        ) as cluster:
            coming = by_cluster(SAMPLES, cluster.scheduler_address, measure_slowly)
            said = [next(coming)]
            victim = next(iter(cluster.workers.values()))
            victim.process.process.kill()
            said += list(coming)
    assert sorted(file for file, _ in said) == SAMPLES
    assert dict(said) == dict(by_processes(SAMPLES, 1))


def test_no_scheduler_at_the_address_is_said_in_one_sentence() -> None:
    with pytest.raises(CannotDo, match="No Dask scheduler answers"):
        list(by_cluster(SAMPLES, "not an address"))
