"""What is added in one place is registered wherever it is needed: each failure names the next file to touch.

DEVELOPERS.md, "How to add", says the same in words. The rules are our own.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import pytest
from test_exports import made

from catalogue.commands.main import main
from catalogue.judge.process import built_in, load_process
from catalogue.store.face import Face
from catalogue.store.schema import CREATE, SCALARS
from catalogue.tag.exports.facts import JobFacts
from catalogue.tag.exports.files import FORMATS, tag_files
from catalogue.tag.making import OUR_FILES
from scanner.records import FaceMeasures

made_once = lru_cache(made)


def fields_of(record: type, kinds: tuple[str, ...]) -> set[str]:
    """Fields of a record by the names of their types."""
    return {f.name for f in dataclasses.fields(record) if f.type in kinds}


def columns_of(table: str) -> set[str]:
    """The columns of numbers that a table is made with."""
    body = re.search(rf"CREATE TABLE {table} \((.*?)\);", CREATE, re.S)
    assert body is not None
    return set(re.findall(r"(\w+) (?:REAL|INTEGER)\b", body[1]))


def test_a_measured_number_is_stored() -> None:
    lost = fields_of(FaceMeasures, ("float", "int")) - set(SCALARS)
    assert not lost, f"measured, but never stored: add {sorted(lost)} to SCALARS of catalogue/store/schema.py"


def test_a_stored_number_is_measured() -> None:
    unknown = set(SCALARS) - fields_of(FaceMeasures, ("float", "int"))
    assert not unknown, f"in SCALARS, but not measured: add {sorted(unknown)} to FaceMeasures of scanner/records.py"


def test_a_stored_number_has_a_column() -> None:
    lost = set(SCALARS) - columns_of("face")
    assert not lost, f"no column: add {sorted(lost)} to CREATE of catalogue/store/schema.py and raise SCHEMA there"


def test_a_stored_number_is_read_back() -> None:
    lost = set(SCALARS) - fields_of(Face, ("float", "int"))
    assert not lost, f"stored, but not read: add {sorted(lost)} to Face of catalogue/store/face.py"


@pytest.mark.parametrize("name", built_in())
def test_a_profile_is_called_as_its_file(name: str) -> None:
    assert load_process(name).name == name, f"catalogue/judge/processes/{name}.toml: name is not that of the file"


@pytest.mark.parametrize("name", FORMATS)
def test_a_format_writes_files_that_a_folder_of_ours_may_hold(name: str, demo_font: Callable[[str], Path]) -> None:
    facts = JobFacts(made_once(demo_font("Anton-Regular.ttf"), "Bo"))
    always = set(tag_files(facts, ()))
    own = set(tag_files(facts, (name,))) - always
    assert own, f"{name} is in FORMATS, but gives no file: add it to tag_files in catalogue/tag/exports/files.py"
    strange = (own | always) - OUR_FILES
    assert not strange, (
        f"a second run would refuse the folder: add {sorted(strange)} to OUR_FILES of catalogue/tag/making.py"
    )


@pytest.mark.parametrize("command", ["tag", "orders"])
def test_the_help_lists_every_format(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main([command, "--help"])
    assert ",".join(FORMATS) in "".join(capsys.readouterr().out.split())
