"""A scan on a cluster gives what a scan on one machine gives, also when a worker is killed in the middle.

The cluster is a real one: a Dask scheduler and two worker processes on this machine.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from conftest import demo_sample, font_bytes, tiny_font

from scanner.files import FileError, FontFile, Source, find_fonts
from scanner.records import FaceRecord, FileRecord
from scanner.workers.listing import list_fonts
from scanner.workers.steps import Ended, Settings, scan_steps
from scanner.workers.supervisor import ScanError, scan_files

pytestmark = pytest.mark.filterwarnings("ignore")  # what the cluster's own libraries say is not ours

WORDS = ("Ai", "fil")
FONTS = 24
"""More than two workers hold at a time."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sound fonts, each another, and one that is none."""
    path = tmp_path_factory.mktemp("fonts")
    for k in range(FONTS):
        (path / f"font{k:02}.ttf").write_bytes(font_bytes(tiny_font(advance=460 + 4 * k)))
    (path / "broken.ttf").write_bytes(b"\0\1\0\0 no font at all")
    return path


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, memory_limit=0
    ) as running:
        yield running


def told(records: list[FileRecord]) -> list[str]:
    """Everything in the records save the seconds that measuring took, in order of path."""

    def face(record: FaceRecord) -> Any:
        table = record.measures.table.to_bytes() if record.measures else b""
        rest = replace(record.measures, table=None) if record.measures else None  # type: ignore[arg-type]
        return (replace(record, measures=None, seconds=0.0), rest, table)

    ordered = sorted(records, key=lambda r: str(r.path))
    return [repr((replace(r, faces=()), [face(f) for f in r.faces])) for r in ordered]


def test_a_cluster_gives_the_records_of_one_machine_though_a_worker_is_killed(
    folder: Path, cluster: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scanner.workers import cluster as engine

    monkeypatch.setattr(engine, "BATCH", 4)
    files = list(find_fonts([folder]))
    here = list(scan_files(files, Settings(WORDS), 1))
    records = engine.scan_on_cluster(cluster.scheduler_address, files, Settings(WORDS))
    there = [next(records)]
    victim = next(iter(cluster.workers.values()))
    os.kill(victim.pid, signal.SIGKILL)
    there += records
    assert len(here) == FONTS + 1
    assert told(there) == told(here)


def test_every_engine_and_number_of_workers_gives_the_same_records(cluster: Any, demo_fonts: tuple[Path, ...]) -> None:
    from catalogue.gather.scan import judge_face
    from scanner.workers import cluster as engine

    words = ("Marlie", "fil")
    files = list(find_fonts(demo_sample()[:3]))
    roots = [files[0].path.parent]
    settings = Settings(words, False, judge_face, tuple(roots))
    plain = [told([in_a_plain_loop(file, settings)]) for file in files]
    expected = sorted(line for lines in plain for line in lines)
    assert len(expected) == 3
    assert all("WordMeasures(word='Marlie'" in line and "'verdict': 'yes" in line for line in expected)
    for workers in (1, 2):
        assert sorted(told(list(scan_files(files, settings, workers)))) == expected
    there = engine.scan_on_cluster(cluster.scheduler_address, files, settings)
    assert sorted(told(list(there))) == expected


def in_a_plain_loop(file: FontFile, settings: Settings) -> FileRecord:
    """One file measured here, in this process, without any engine."""
    faces, verdicts = [], {}
    for step in scan_steps(file, settings):
        if isinstance(step, FaceRecord):
            faces.append(step)
        elif isinstance(step, dict):
            verdicts |= step
        elif isinstance(step, Ended):
            end = step
    return FileRecord(str(file.path), file.size, file.mtime_ns, end.digest, tuple(faces), end.reason, verdicts)


def test_a_cluster_reads_a_store_and_gives_the_records_of_the_same_folder(folder: Path, cluster: Any) -> None:
    from scanner.workers import cluster as engine

    _, files = list_fonts(f"local://{folder}")
    here = list(scan_files(find_fonts([folder]), Settings(WORDS), 1))
    there = list(engine.scan_on_cluster(cluster.scheduler_address, files, Settings(WORDS)))
    stamps = {r.path: r.mtime_ns for r in here}
    named = [replace(r, path=r.path.removeprefix("file://")) for r in there]
    named = [replace(r, mtime_ns=stamps[r.path], faces=tuple(replace(f, path=r.path) for f in r.faces)) for r in named]
    assert {r.path for r in there} == {f"file://{path}" for path in stamps}
    assert told(named) == told(here)


def test_workers_of_a_cluster_write_partitions_that_merge_into_the_ordinary_catalogue(
    folder: Path, cluster: Any, tmp_path: Path
) -> None:
    from test_partitions import contents

    from catalogue.gather.partitions import merge_parts
    from catalogue.gather.scan import Scan, scan_into, scan_to_parts

    parts = str(tmp_path / "parts")
    facts = scan_to_parts(parts, Scan([folder], WORDS, cluster=cluster.scheduler_address))
    merged = merge_parts(parts, tmp_path / "merged.sqlite")
    scan_into(tmp_path / "plain.sqlite", Scan([folder], WORDS, workers=1))
    assert (facts["files"], facts["faces"], facts["failed"], merged["partitions"]) == (FONTS + 1, FONTS, 1, 2)
    assert contents(tmp_path / "merged.sqlite") == contents(tmp_path / "plain.sqlite")


def test_a_store_that_no_worker_reaches_is_one_line(folder: Path, cluster: Any) -> None:
    from scanner.workers import cluster as engine

    source = Source("nowhere://fonts/a.ttf", "nowhere://fonts", ())
    with pytest.raises(
        FileError, match=r"^nowhere://fonts/a\.ttf: cannot be used \(Protocol not known: nowhere\); check"
    ):
        file = FontFile(Path("a.ttf"), 9, 1, source)
        list(engine.scan_on_cluster(cluster.scheduler_address, [file], Settings(WORDS)))


def test_a_batch_that_the_scheduler_gave_up_is_handed_out_again(
    folder: Path, cluster: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    import distributed

    from scanner.workers import cluster as engine

    tries: list[int] = []
    submit = distributed.Client.submit

    def given_up_at_first(client: Any, function: Any, batch: Any, *rest: Any, **options: Any) -> Any:
        def give_up(batch: Any, *rest: Any) -> None:
            raise distributed.KilledWorker("a batch", SimpleNamespace(address="tcp://gone"), 3)

        tries.append(len(batch))
        return submit(client, give_up if len(tries) == 1 else function, batch, *rest, **options)

    monkeypatch.setattr(distributed.Client, "submit", given_up_at_first)
    monkeypatch.setattr(engine, "BATCH", FONTS + 1)
    files = list(find_fonts([folder]))
    assert len(list(engine.scan_on_cluster(cluster.scheduler_address, files, Settings(WORDS)))) == FONTS + 1
    assert tries == [FONTS + 1, FONTS + 1]


def test_a_scan_that_was_stopped_goes_on_and_ends_as_one_machine_would(
    folder: Path, cluster: Any, tmp_path: Path
) -> None:
    from catalogue.gather.scan import Scan, scan_into
    from catalogue.store.database import Store

    def stop_at_once(items: Any, total: int, label: str) -> Iterator[Any]:
        for k, item in enumerate(items):
            if k == 5:
                raise KeyboardInterrupt
            yield item

    address = cluster.scheduler_address
    with pytest.raises(KeyboardInterrupt):
        scan_into(tmp_path / "there.sqlite", Scan([folder], WORDS, cluster=address), progress=stop_at_once)
    facts = scan_into(tmp_path / "there.sqlite", Scan([folder], WORDS, cluster=address))
    scan_into(tmp_path / "here.sqlite", Scan([folder], WORDS, workers=1))
    assert facts["skipped_unchanged"] == 5
    with Store(tmp_path / "there.sqlite") as there, Store(tmp_path / "here.sqlite") as here:
        assert there.counts() == here.counts()
        plain = [sorted(repr(replace(f, id=0)) for f in store.faces()) for store in (there, here)]
        assert plain[0] == plain[1]


def test_an_address_where_no_scheduler_answers_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    from scanner.workers import cluster as engine

    monkeypatch.setattr(engine, "ANSWER_SECONDS", 1)
    nobody = "tcp://127.0.0.1:9"
    with pytest.raises(ScanError) as told:
        list(engine.scan_on_cluster(nobody, [FontFile(Path("a.ttf"), 1, 1)], Settings(WORDS)))
    assert str(told.value) == (
        f"{nobody}: no scheduler answers there; start one with 'dask scheduler' and give its tcp:// address"
    )
