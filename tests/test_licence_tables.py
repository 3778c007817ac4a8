"""The tables of the licence room: every entry works, none is too long, and they do not contradict each other."""

from __future__ import annotations

import ast
import re
import tomllib
from importlib import resources
from pathlib import Path

import pytest

import catalogue.licence
from catalogue.licence.families import licences_at, load_records
from catalogue.licence.grammar import Automaton, Classes, GrammarError
from catalogue.licence.labels import label_words
from catalogue.licence.limits import limits_in, load_languages, name_words, sentence_words
from catalogue.licence.prose import design_words
from catalogue.licence.slots import Own, fills_for
from catalogue.licence.templates import Template, fits_at, load_templates
from catalogue.licence.texts import fingerprint, load_texts, packed, texts_in, unpacked
from catalogue.licence.words import words_of

ROOM = Path(catalogue.licence.__file__).parent
DATA = resources.files("fonts_licenses")
OWN = Own(
    frozenset(("larkspur", "essays", "lora", "abel", "quillmoor", "brindlewick", "1743")), frozenset(("ida", "brandt"))
)
TEMPLATES = load_templates()


def fitting(template: Template, text: str) -> list[Template]:
    """Templates of the same place that fit the whole of a text."""
    words = words_of(text)
    place = "licence" if "licence" in template.places else min(template.places)
    return [fit.template for fit in fits_at(words, 0, place, fills_for(OWN), {}) if fit.stop == len(words)]


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda t: f"{t.language}: {t.example[:40]}")
def test_a_template_understands_its_example_and_not_its_counter_example(template: Template) -> None:
    assert template in fitting(template, template.example)
    assert fitting(template, template.counter) == []
    assert template.source


def test_a_language_speaks_only_with_a_table_of_its_limits() -> None:
    grants = {f.name[:-5] for f in (DATA / "grants").iterdir() if f.name.endswith(".toml")}
    assert grants <= set(load_languages()) and len(grants) >= 20
    assert set(design_words()) <= set(load_languages())


def test_what_is_written_in_a_script_without_a_table_is_never_understood() -> None:
    """Unicode: Georgian and Armenian letters; no table covers them."""
    from licence_sentences import placed

    for text in ("გამოიყენეთ", "Օգտագործեք"):
        assert placed("9+", text).verdict == "ask"


@pytest.mark.parametrize("code", sorted(load_languages()))
def test_every_limit_is_found(code: str) -> None:
    language = load_languages()[code]
    for family, phrase in language.clear:
        said = phrase.rstrip("*")
        found = limits_in(words_of(f"Larkspur: {said}."))
        assert any(limit.clear for limit in found), (family, phrase)
    for phrase in language.weak:
        assert limits_in(words_of(f"Larkspur: {phrase.rstrip('*')}.")), phrase


def test_no_limit_can_be_said_in_words_of_designs() -> None:
    for language, known in design_words().items():
        weak = {phrase for phrase in load_languages()[language].weak if " " not in phrase and "*" not in phrase}
        assert not known & weak
        assert not known & name_words()["negations"]
    trade = ("buy", "sell", "sold", "sale", "pay", "paid", "price", "fee", "cash", "money", "permission", "only", "not")
    assert not design_words()["en"] & set(trade)


def test_words_that_make_a_sentence_are_known_in_every_language() -> None:
    assert all(len(language.sentence_words) >= 15 for language in load_languages().values())
    assert {"not", "nicht", "pas", "не", "değil"} <= sentence_words()


def test_each_record_has_a_name_or_a_limit() -> None:
    limited = {family for language in load_languages().values() for family, _ in language.clear}
    granted = {template.spdx for template in TEMPLATES}
    for record in load_records():
        named = [says for n in record.named for says in n.says]
        assert named or record.family in limited | {"unclear-words"} or granted & set(record.spdx), record.family
        for n in record.named:
            assert n.spdx in record.spdx, n.spdx


def test_names_of_licences_are_told_apart() -> None:
    """SPDX ids; the longest name at a place is the one meant."""
    for text, spdx in (
        ("CC BY-NC-SA 4.0", "CC-BY-NC-SA-4.0"), ("CC BY 4.0", "CC-BY-4.0"), ("GNU GPL v2 or later", "GPL-2.0-or-later"),
        ("GNU Lesser General Public License", "LGPL-2.1-or-later"), ("SIL OFL 1.0", "OFL-1.0"),
    ):  # fmt: skip
        words = words_of(text)
        assert max(licences_at(words, 0)) == (len(words), ("licence", spdx))


def _patterns(path: Path) -> list[str]:
    """Texts given to `re` functions in a module."""
    found = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        called = node.func if isinstance(node, ast.Call) else None
        if isinstance(called, ast.Attribute) and isinstance(called.value, ast.Name) and called.value.id == "re":
            found += [a.value for a in node.args if isinstance(a, ast.Constant) and isinstance(a.value, str)]
    return found


@pytest.mark.parametrize("path", sorted(ROOM.glob("*.py")), ids=lambda p: p.name)
def test_the_room_stays_small(path: Path) -> None:
    assert len(path.read_text("utf-8").splitlines()) <= 300
    assert all(len(pattern) <= 100 for pattern in _patterns(path))


def test_patterns_in_the_tables_stay_short() -> None:
    for file in DATA.iterdir():
        if file.name.endswith(".toml"):
            assert all(len(name) <= 100 for name in tomllib.loads(file.read_text("utf-8")).get("names", ()))


def test_fingerprints_hold_no_words() -> None:
    for file in (DATA / "texts").iterdir():
        if file.name.endswith(".toml"):
            for entry in tomllib.loads(file.read_text("utf-8"))["text"]:
                assert re.fullmatch(r"[A-Za-z0-9+/=\s]+", entry["prints"])
                assert len(unpacked(entry["prints"])) == entry["words"]
    assert unpacked(packed((1, 2, 65535))) == (1, 2, 65535)


def test_a_clause_inside_a_published_text_comes_out_as_an_insertion() -> None:
    """The Apache License as Debian's base-files lays it out."""
    path = Path("/usr/share/common-licenses/Apache-2.0")
    if not path.is_file():
        pytest.skip("Debian's base-files are not on this machine")
    text = path.read_text("utf-8")
    (found,) = texts_in(words_of(text))
    assert found.whole and found.text.spdx == "Apache-2.0" and found.text.role == "grant"
    words = words_of(text.replace("2. Grant of Copyright License.", "2. Zwibble. Grant of Copyright License."))
    (found,) = texts_in(words)
    between = [words.said(a, b) for (_, a), (b, _) in zip(found.own, found.own[1:], strict=False) if a < b]
    assert between[0] == "Zwibble."


def test_a_text_of_which_too_much_is_missing_is_not_recognised() -> None:
    text = load_texts()[0]
    assert fingerprint(words_of("alpha beta")) != text.prints[:2]
    assert texts_in(words_of("only a few words that are in no licence at all")) == ()


@pytest.mark.parametrize("broken", ["a (b", "a ]", "a {b", "a [b)"])
def test_a_template_with_a_bracket_left_open_is_refused(broken: str) -> None:
    with pytest.raises(GrammarError):
        Automaton(Classes({})).add(0, broken)


def test_classes_may_be_used_in_classes() -> None:
    automaton = Automaton(Classes({"font": "font|typeface", "it": "this {font}|it"}))
    automaton.add(7, "{it} (is|was) [very] free")
    for text, fits in (("This typeface is free", True), ("It was very free", True), ("This is free", False)):
        words = words_of(text)
        assert [m.number for m in automaton.matches(words, 0, {}) if m.stop == len(words)] == ([7] if fits else [])


def test_no_everyday_word_can_limit() -> None:
    everyday = label_words()["everyday"]
    assert len(everyday) > 800
    assert not everyday & sentence_words()
    assert not everyday & name_words()["negations"]
    assert [word for word in sorted(everyday) if limits_in(words_of(word))] == []


def test_a_class_may_go_on_with_itself() -> None:
    """Right recursion: a list of any length is one class."""
    automaton = Automaton(Classes({"list": "(red|blue)|(red|blue) {same} [and] {list}"}))
    automaton.add(0, "use {list} {end}")
    ends = [m.stop for m in automaton.matches(words_of("use red, blue and red. Not"), 0, fills_for(OWN))]
    assert ends == [5]
    assert automaton.matches(words_of("use red: blue"), 0, fills_for(OWN)) == []
    assert automaton.slots() == {"same", "end"}
