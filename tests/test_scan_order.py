"""The order in which fonts are scanned: families first, and files of one name by one worker."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from catalogue.gather.order import families_first
from scanner.files import FontFile
from scanner.workers.waiting import Waiting


def files(*names: str) -> list[FontFile]:
    return [FontFile(Path("/fonts", name), 1, 1) for name in names]


def names(found: list[FontFile]) -> list[str]:
    return [f.path.relative_to("/fonts").as_posix() for f in found]


def test_one_file_of_each_family_comes_first_upright_and_bold() -> None:
    """Names as foundries write them; a bold one has stouter strokes than a regular, and counters that a black lacks."""
    given = files(
        "Anton.ttf", "Lora-Bold.ttf", "Lora-BoldItalic.ttf", "Lora-Regular.ttf", "Raleway-Black.ttf",
        "Raleway-Light.ttf", "Raleway-SemiBold.ttf", "Sans Italic.ttf", "Sans.ttf",
    )  # fmt: skip
    assert names(families_first(given)) == [
        "Anton.ttf", "Lora-Bold.ttf", "Raleway-Black.ttf", "Sans.ttf",
        "Lora-BoldItalic.ttf", "Lora-Regular.ttf", "Raleway-Light.ttf", "Raleway-SemiBold.ttf", "Sans Italic.ttf",
    ]  # fmt: skip


def test_families_of_two_folders_are_two() -> None:
    given = files("a/Tiny-Regular.ttf", "a/Tiny-Bold.ttf", "b/Tiny-Regular.ttf", "b/Tiny-Italic.ttf")
    assert names(families_first(given))[:2] == ["a/Tiny-Bold.ttf", "b/Tiny-Regular.ttf"]


some_names = st.lists(st.from_regex(r"(a|b)/(One|Two)?(-| )?(Bold|Light|Italic)?[0-2]?\.(ttf|otf)", fullmatch=True))


@given(some_names)
def test_every_file_is_scanned_once(given: list[str]) -> None:
    assert sorted(names(families_first(files(*given)))) == sorted(given)


def test_a_worker_goes_on_with_files_of_the_same_name() -> None:
    waiting = Waiting(files("a.ttf", "b.ttf", "x/A.woff2", "c.ttf", "x/b.otf"))
    order, last = [], ""
    while waiting:
        file = waiting.take(after=last).file
        last = file.path.stem.casefold()
        order.append(file)
    assert names(order) == ["a.ttf", "x/A.woff2", "b.ttf", "x/b.otf", "c.ttf"]


@given(some_names, st.lists(st.sampled_from(["", "one-bold", "two", "one"]), min_size=1))
def test_no_job_is_lost_or_given_twice(given: list[str], asked: list[str]) -> None:
    waiting = Waiting(files(*given))
    taken = [waiting.take(after=asked[k % len(asked)]).file for k in range(len(given))]
    assert sorted(names(taken)) == sorted(given) and not waiting
