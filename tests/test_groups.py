"""Style groups, traits and neighbours: against faces that two labellers judged by eye, and against laws.

Labels: ``catalogue/style/labels.csv``, made by the makers of this project from drawn sheets without names. The model
saw these labels, so how well it does on families it did not see is printed by ``bench/style_model.py``, not here.
"""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
from conftest import absent, copy_demo_fonts, demo_paths
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from catalogue.commands.main import main
from catalogue.gather.scan import Scan, scan_into
from catalogue.style.groups import Decision, UnknownStyle, decide, meant, summary
from catalogue.style.likeness import TRAITS, alike, differs
from catalogue.style.model import parse_model, shipped_model
from catalogue.style.neighbours import apart
from catalogue.style.vectors import COMPARED
from catalogue.style.words import GROUP_NAMES, NOT_GROUPED, TRAIT_NAMES
from scanner.alphabet import LOWER, UPPER
from scanner.face import identify
from scanner.measures.features import FEATURES
from scanner.measuring import measure
from scanner.shaping import Shaper

Vectors = NDArray[np.float64]


def vector_of(shaper: Shaper) -> Vectors:
    return np.array(measure(shaper, ["Marlie"]).style, dtype=float)


@pytest.fixture(scope="session")
def demo_styles() -> tuple[list[str], Vectors]:
    """Family and style numbers of one plain face of every demo family: its regular file, or the shortest name."""
    best: dict[str, Path] = {}
    for path in sorted(demo_paths(), key=lambda p: ("Regular" not in p.name, len(p.name), p.name)):
        best.setdefault(identify(Shaper.open(path, 0))[0], path)
    if len(best) < 40:
        absent("fewer than 40 demo families; install the extra `demo`: pip install 'letterhold[demo]'")
    return list(best), np.array([vector_of(Shaper.open(path, 0)) for path in best.values()])


def font_of(path: Path, change: Callable[[TTFont], None]) -> Shaper:
    """A font changed by fontTools, as bytes in memory."""
    with TTFont(path) as font:
        change(font)
        out = io.BytesIO()
        font.save(out)
    return Shaper(out.getvalue(), 0, {})


def keeping(text: str) -> Callable[[TTFont], None]:
    def cut(font: TTFont) -> None:
        options = Options()
        options.layout_features = ["*"]
        subsetter = Subsetter(options)
        subsetter.populate(text=text)
        subsetter.subset(font)

    return cut


def labels() -> list[dict[str, str]]:
    text = resources.files("catalogue.style").joinpath("labels.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text)))


def test_labels_are_facts_of_two_labellers() -> None:
    """Two labels a face, from words that are groups; the wanted 700 families, and the share on which both agree."""
    rows = labels()
    words = {*GROUP_NAMES, "formal script", "brush script", "symbols"}
    assert all({r["label_a"], r["label_b"]} <= words for r in rows)
    assert all((r["label_a"] == r["label_b"]) == (r["agreed"] == "yes") for r in rows)
    assert len({r["family"] for r in rows}) >= 700
    assert all(r["package"] and r["file"] for r in rows)
    agreed = Counter(r["agreed"] for r in rows)
    assert 0.8 < agreed["yes"] / len(rows) < 0.9  # common practice: labels of style agree on four of five


def test_a_person_would_sort_the_demo_fonts_so(demo_styles: tuple[list[str], Vectors]) -> None:
    """Both labels say so (labels.csv); Alfa Slab One and the like are plain by their names."""
    families, vectors = demo_styles
    group = dict(zip(families, (d.group for d in decide(vectors, shipped_model())), strict=True))
    expected = {
        "joined script": ("Lobster", "Pacifico", "Great Vibes", "Dancing Script", "Yellowtail"),
        "heavy sans": ("Anton", "Archivo Black", "Russo One"),
        "sans serif": ("Inter", "Fira Sans", "Raleway"),
        "handwriting": ("Caveat", "Indie Flower", "Zeyada"),
        "slab serif": ("Roboto Slab", "Arvo", "Alfa Slab One"),
        "serif": ("Lora", "Playfair Display", "Cormorant Garamond"),
        "monospaced": ("Space Mono", "DM Mono"),
        "pixel": ("Press Start 2P",),
        "stencil": ("Black Ops One",),
    }
    wrong = {f: group[f] for g, members in expected.items() for f in members if f in group and group[f] != g}
    assert wrong == {}


def test_traits_of_faces_that_are_known_for_them(demo_styles: tuple[list[str], Vectors]) -> None:
    """Bebas Neue has capitals alone, Anton is heavy and narrow, Space Mono has one width, by the makers' own words."""
    families, vectors = demo_styles
    traits = dict(zip(families, (set(d.traits) for d in decide(vectors, shipped_model())), strict=True))
    assert "all capitals" in traits["Bebas Neue"] and "all capitals" not in traits["Anton"]
    assert "slanted" in traits["Yellowtail"] and "slanted" not in traits["Inter"]
    assert "bold" in traits["Alfa Slab One"] and "bold" not in traits["Lora"]
    assert not any("serifs" in traits[f] for f in ("Inter", "Anton", "Raleway"))
    assert all(t <= set(TRAIT_NAMES) for t in traits.values())


def small_letters_are_capitals(font: TTFont) -> None:
    for table in font["cmap"].tables:
        if table.isUnicode():
            for small, capital in zip(LOWER, UPPER, strict=True):
                table.cmap[ord(small)] = table.cmap[ord(capital)]


@pytest.mark.parametrize("change", [keeping(UPPER + "0123456789"), small_letters_are_capitals])
def test_capitals_are_judged_by_their_capitals(
    demo_font: Callable[[str], Path], change: Callable[[TTFont], None]
) -> None:
    """A serif without small letters, or with capitals in their place, is a serif of all capitals."""
    (decision,) = decide(np.array([vector_of(font_of(demo_font("Arvo-Regular.ttf"), change))]), shipped_model())
    assert decision.group in ("serif", "slab serif") and "all capitals" in decision.traits


def test_what_cannot_be_judged_is_not_grouped(demo_font: Callable[[str], Path]) -> None:
    """Few letters, another script in the place of letters: never a wrong group."""

    def another_script(font: TTFont) -> None:
        letters = [font.getBestCmap()[c] for c in range(0x0905, 0x0939) if c in font.getBestCmap()]
        for table in font["cmap"].tables:
            if table.isUnicode():
                for k, letter in enumerate(UPPER + LOWER):
                    table.cmap[ord(letter)] = letters[k % len(letters)]

    devanagari = next((p for p in demo_paths() if "NotoSansDevanagari" in p.name), None)
    if devanagari is None:
        absent("no Devanagari font; install the extra `demo`")
    cases = {
        "few letters": font_of(demo_font("Lobster-Regular.ttf"), keeping("Marlie")),
        "symbols or another script": font_of(devanagari, another_script),
    }
    for reason, shaper in cases.items():
        (decision,) = decide(np.array([vector_of(shaper)]), shipped_model())
        assert decision.group == NOT_GROUPED
        assert decision.support.startswith(reason)


def test_symbols_are_not_grouped(debian_font: Callable[[str, str], Path]) -> None:
    shaper = Shaper.open(debian_font("fonts-urw-base35", "D050000L.otf"), 0)
    (decision,) = decide(np.array([vector_of(shaper)]), shipped_model())
    assert decision.group == NOT_GROUPED and decision.support.startswith("symbols")


def test_never_measured() -> None:
    (decision,) = decide(np.full((1, len(FEATURES)), np.nan), shipped_model())
    assert decision == Decision(NOT_GROUPED, "not measured for style; scan its folder again")
    assert decide(np.empty((0, len(FEATURES))), shipped_model()) == []


def test_a_face_is_decided_by_itself_alone(demo_styles: tuple[list[str], Vectors]) -> None:
    """Adding, removing, doubling or reordering fonts changes no other font's group, traits or words."""
    _, vectors = demo_styles
    whole = decide(vectors, shipped_model())
    order = np.random.default_rng(7).permutation(len(vectors))[: len(vectors) // 2]
    assert decide(vectors[order], shipped_model()) == [whole[k] for k in order]
    assert decide(np.concatenate([vectors, vectors]), shipped_model()) == whole + whole
    assert [decide(v[None], shipped_model())[0] for v in vectors] == whole


ODD = st.sampled_from([np.nan, np.inf, -np.inf, 0.0, -1.0, 1e30, -1e30, 1e-30])


@settings(max_examples=40, deadline=None)
@given(odd=st.dictionaries(st.integers(0, len(FEATURES) - 1), ODD, min_size=1), which=st.integers(0, 9))
def test_odd_numbers_of_one_face_change_no_other(
    demo_styles: tuple[list[str], Vectors], odd: dict[int, float], which: int
) -> None:
    """Whatever is not a number, infinite or absurd in one face, the others' groups and distances stay."""
    _, vectors = demo_styles
    vectors = vectors[:10]
    harmed = vectors.copy()
    harmed[which, list(odd)] = list(odd.values())
    model = shipped_model()
    others = [k for k in range(len(vectors)) if k != which]
    before, after = decide(vectors, model), decide(harmed, model)
    assert [after[k] for k in others] == [before[k] for k in others]
    assert after[which].group in (*GROUP_NAMES, NOT_GROUPED)
    here = others[0]
    np.testing.assert_array_equal(apart(harmed, here, model)[others], apart(vectors, here, model)[others])
    assert np.isfinite(apart(harmed, here, model)).all()


def test_groups_list_the_most_typical_first(demo_styles: tuple[list[str], Vectors]) -> None:
    _, vectors = demo_styles
    decided = decide(vectors, shipped_model())
    groups = summary(decided)
    assert [g.group for g in groups] == [n for n in GROUP_NAMES if n in {d.group for d in decided}]
    for group in groups:
        shares = [decided[k].probability for k in group.members]
        assert shares == sorted(shares, reverse=True)
    assert sum(len(g.members) for g in groups) == sum(d.group != NOT_GROUPED for d in decided)


def test_what_is_not_sure_is_said_so(demo_styles: tuple[list[str], Vectors]) -> None:
    _, vectors = demo_styles
    model = shipped_model()
    for decision in decide(vectors, model):
        if decision.group != NOT_GROUPED:
            assert decision.support.startswith("not sure, ") == (decision.probability < model.sure)


def test_neighbours_look_alike(demo_styles: tuple[list[str], Vectors]) -> None:
    """Siblings by one designer come first; a face is at no distance from itself and its copies."""
    families, vectors = demo_styles
    lobster = families.index("Lobster")
    away = apart(np.concatenate([vectors, vectors[[lobster]]]), lobster, shipped_model())
    assert away[lobster] == away[-1] == 0
    nearest = [families[k] for k in np.argsort(away[:-1])[1:6]]
    assert "Lobster Two" in nearest


def test_likeness_comes_in_words_with_figures(demo_styles: tuple[list[str], Vectors]) -> None:
    """What the faces' makers say of them (names and classification of the packages), found in the words: Anton is heavy
    and narrow against Raleway, Roboto Slab has serifs that Inter has not, Great Vibes and Dancing Script join."""
    families, vectors = demo_styles
    face = dict(zip(families, vectors, strict=True))
    model = shipped_model()

    def seen(one: str, other: str) -> str:
        return "; ".join(differs(face[one], face[other], model, len(TRAITS)))

    assert "heavier strokes" in seen("Raleway", "Anton") and "narrower small letters" in seen("Raleway", "Anton")
    assert "lighter strokes" in seen("Anton", "Raleway") and "wider small letters" in seen("Anton", "Raleway")
    assert "more serifs" in seen("Inter", "Roboto Slab")
    assert "more even widths" in seen("Inter", "DM Mono")
    assert any(w.startswith("joining") for w in alike(face["Great Vibes"], face["Dancing Script"], model, len(TRAITS)))
    assert differs(face["Lora"], face["Lora"], model) == []
    assert "upright" in alike(face["Inter"], face["Raleway"], model, len(TRAITS))
    assert "no serifs" in alike(face["Inter"], face["Raleway"], model, len(TRAITS))


def test_no_word_of_likeness_is_a_name_of_ours(demo_styles: tuple[list[str], Vectors]) -> None:
    """Each comes with a figure, but for what both lack; none is the inner name of a number."""
    _, vectors = demo_styles
    model = shipped_model()
    for k, one in enumerate(vectors):
        for other in vectors[k + 1 :]:
            same, apart_in = (f(one, other, model, len(TRAITS)) for f in (alike, differs))
            for words in [*same, *apart_in]:
                assert words in ("no serifs", "upright") or any(c.isdigit() for c in words), words
                assert "_" not in words and "nan" not in words and "-0" not in words, words
            assert all(" against " in w for w in apart_in)


def test_words_for_styles() -> None:
    assert meant("joined") == meant("Joined Script") and meant("joined").groups == ("joined script",)
    assert meant("brush").groups == ("joined script",)
    assert meant("mono").groups == ("monospaced",)
    assert meant("italic").traits == ("slanted",)
    assert set(meant("sans").groups) == {"sans serif", "rounded sans", "condensed sans", "heavy sans"}
    assert meant("bold").holds(Decision("serif", "", 0.9, ("bold",)))
    assert not meant("bold").holds(Decision("serif", "", 0.9))
    with pytest.raises(UnknownStyle, match="choose one of: joined script, handwriting"):
        meant("wavy")


def test_the_model_is_for_these_numbers() -> None:
    text = resources.files("catalogue.style").joinpath("style_model.json").read_text(encoding="utf-8")
    model = parse_model(text)
    assert model.made_from and set(model.least) <= set(TRAIT_NAMES)
    assert len(GROUP_NAMES) <= 16
    with pytest.raises(ValueError, match=r"bench/style_model\.py"):
        parse_model(json.dumps(json.loads(text) | {"compared": COMPARED[1:]}))


def test_the_power_transform_is_the_published_one(demo_styles: tuple[list[str], Vectors]) -> None:
    """Yeo and Johnson (2000), equation 2.1, as scikit-learn computes it."""
    power = pytest.importorskip("sklearn.preprocessing").PowerTransformer(standardize=False)
    scale = shipped_model().scale
    power.lambdas_ = scale.power
    power.n_features_in_ = len(scale.power)
    middle = np.clip(np.tile(scale.middle, (2, 1)), scale.low, scale.high)
    whole = np.full((2, len(FEATURES)), np.nan)
    expected = np.clip((power.transform(middle) - scale.mean) / scale.spread, -4, 4)
    np.testing.assert_allclose(scale.standard(whole), expected, rtol=1e-9, atol=1e-9)


def test_deciding_loads_no_learning_library() -> None:
    code = (
        "import sys, numpy as np; from catalogue.style.groups import decide; from catalogue.style.model import"
        " shipped_model; from scanner.measures.features import FEATURES;"
        "decide(np.zeros((3, len(FEATURES))), shipped_model()); print('sklearn' in sys.modules, 'cv2' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


# ── on the command line ─────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A small catalogue: two scripts, one of them twice, a block face, a slab, capitals alone."""
    folder = tmp_path_factory.mktemp("fonts")
    packages = ["fontpkg_lobster", "fontpkg_pacifico", "fontpkg_anton", "fontpkg_arvo", "fontpkg_bebas_neue"]
    copy_demo_fonts(folder, packages)
    (folder / "copy.ttf").write_bytes((folder / "Lobster-Regular.ttf").read_bytes())
    catalogue = folder.parent / "shop.sqlite"
    scan_into(catalogue, Scan([folder], ["Marlie"], workers=1))
    return str(catalogue)


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[dict[str, object]]:
    assert main([*arguments]) in (0, 1)
    found: list[dict[str, object]] = json.loads(capsys.readouterr().out)
    return found


def test_groups_command(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = {str(r["group"]): r for r in printed(capsys, "groups", "--json", "--catalogue", shop)}
    assert {"joined script", "heavy sans", "slab serif"} <= set(rows) <= set(GROUP_NAMES)
    assert len(rows["joined script"]["faces"]) == 3  # type: ignore[arg-type]
    assert rows["joined script"]["label"] == "letters of a word join"
    members = [m for r in rows.values() for m in r["members"]]  # type: ignore[attr-defined]
    assert "all capitals" in next(m["traits"] for m in members if m["family"] == "Bebas Neue")
    assert main(["groups", "--catalogue", shop]) == 0
    out = capsys.readouterr().out
    assert "letters of a word join  (3 faces of 2 families)" in out


def test_like_command_lists_other_families_once(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = printed(capsys, "like", "Lobster Regular", "--json", "--catalogue", shop)
    assert rows[0]["family"] == "Pacifico"
    assert len({r["family"] for r in rows}) == len(rows) == 4
    assert [r["distance"] for r in rows] == sorted(r["distance"] for r in rows)  # type: ignore[type-var]
    anton = next(r for r in rows if r["family"] == "Anton")
    assert anton["differs"] and isinstance(anton["alike"], list)
    assert main(["like", "Lobster Regular", "--catalogue", shop]) == 0
    out = capsys.readouterr().out
    assert "alike in: " in out and " against " in out and "of small-letter pairs touch" in out


def test_rank_and_inspect_know_the_group(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = printed(capsys, "rank", "Marlie", "--group", "joined", "--json", "--catalogue", shop)
    assert {r["group"] for r in rows} == {"joined script"}
    assert sorted(len(r["files"]) for r in rows) == [1, 2]  # type: ignore[arg-type]  # one design is there twice
    capitals = printed(capsys, "rank", "Marlie", "--group", "all capitals", "--json", "--catalogue", shop)
    assert [r["family"] for r in capitals] == ["Bebas Neue"]
    facts = printed(capsys, "inspect", "Anton Regular", "--json", "--catalogue", shop)
    assert facts["group"] == "heavy sans" and facts["group_support"] and facts["neighbours"]  # type: ignore[call-overload]
    assert main(["rank", "Marlie", "--group", "wavy", "--catalogue", shop]) == 2
    assert "choose one of" in capsys.readouterr().err


def test_the_wall(shop: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each group with its meaning and count, the name drawn in each family once."""
    sheet = tmp_path / "groups.svg"
    assert main(["groups", "--picture", str(sheet), "--catalogue", shop]) == 0
    text = sheet.read_text(encoding="utf-8")
    assert text.startswith("<svg") and "joined script: letters of a word join (3 faces of 2 families)" in text
    assert text.count(">Anton<") == 1 and text.count(">Lobster<") == 1
