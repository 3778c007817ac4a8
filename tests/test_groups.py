"""Style groups: the rules against faces labelled by eye, what is refused, and that nothing is reshuffled.

Labels by eye come from ``style_labels.py``; the makers of this project labelled them.
"""

from __future__ import annotations

import io
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from conftest import absent, copy_demo_fonts, demo_paths
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont
from numpy.typing import NDArray
from style_labels import STYLE_OF

from catalogue.commands.main import main
from catalogue.gather.scan import Scan, scan_into
from catalogue.style.groups import (
    ANCHORS,
    COMPARED,
    LABELS,
    MOST_GROUPS,
    NOT_GROUPED,
    Decision,
    apart,
    decide,
    decide_families,
    fit,
    irregularity,
    leading,
    matching,
    parse_model,
    shipped_model,
    summary,
)
from catalogue.style.likeness import TRAITS, alike, differs
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
    """Family and style numbers of the regular face of every demo family."""
    best: dict[str, tuple[int, Path]] = {}
    for path in demo_paths():
        family, style, _ = identify(Shaper.open(path, 0))
        if family not in best or irregularity(style) < best[family][0]:
            best[family] = (irregularity(style), path)
    if len(best) < 40:
        absent("fewer than 40 demo families; install the extra `demo`: pip install 'letterhold[demo]'")
    return list(best), np.array([vector_of(Shaper.open(path, 0)) for _, path in best.values()])


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


def test_each_anchor_is_right_on_faces_labelled_by_eye(demo_styles: tuple[list[str], Vectors]) -> None:
    """Precision 0.95 and recall 0.90 for every rule. On more fonts: ``bench/group_numbers.py``."""
    families, vectors = demo_styles
    said = [d.group for d in decide(vectors, shipped_model())]
    seen = [STYLE_OF.get(f, "") for f in families]
    assert sum(s != "" for s in seen) >= 40
    for anchor in ANCHORS:
        hits = sum(g == anchor.group == s for g, s in zip(said, seen, strict=True))
        told = sum(g == anchor.group and s != "" for g, s in zip(said, seen, strict=True))
        true = sum(s == anchor.group for s in seen)
        assert hits >= 0.95 * told, anchor.group
        assert hits >= 0.90 * true, anchor.group


def test_a_person_would_sort_the_demo_fonts_so(demo_styles: tuple[list[str], Vectors]) -> None:
    families, vectors = demo_styles
    group = dict(zip(families, (d.group for d in decide(vectors, shipped_model())), strict=True))
    expected = {
        "joined script": ("Lobster", "Pacifico", "Great Vibes", "Dancing Script", "Yellowtail"),
        "heavy block": ("Anton", "Archivo Black", "Lilita One", "Russo One", "Titan One"),
        "plain block": ("Inter", "Fira Sans", "Raleway", "Varela Round"),
        "handwriting": ("Caveat", "Kalam", "Indie Flower", "Zeyada"),
        "slab serif": ("Roboto Slab", "Arvo", "Alfa Slab One"),
        "serif": ("Lora", "Playfair Display", "Cormorant Garamond"),
        "monospaced": ("Space Mono", "DM Mono"),
        "pixel": ("Press Start 2P",),
        "stencil": ("Black Ops One",),
    }
    wrong = {f: group[f] for g, members in expected.items() for f in members if f in group and group[f] != g}
    assert wrong == {}
    assert len(set(group.values()) - {NOT_GROUPED}) <= MOST_GROUPS


def test_what_cannot_be_judged_is_not_grouped(demo_font: Callable[[str], Path]) -> None:
    """Few letters, capitals alone, capitals twice, another script in the place of letters: never a wrong group."""
    lobster, devanagari = demo_font("Lobster-Regular.ttf"), None

    def small_letters_are_capitals(font: TTFont) -> None:
        for table in font["cmap"].tables:
            if table.isUnicode():
                for small, capital in zip(LOWER, UPPER, strict=True):
                    table.cmap[ord(small)] = table.cmap[ord(capital)]

    def another_script(font: TTFont) -> None:
        letters = [font.getBestCmap()[c] for c in range(0x0905, 0x0939) if c in font.getBestCmap()]
        for table in font["cmap"].tables:
            if table.isUnicode():
                for k, letter in enumerate(UPPER + LOWER):
                    table.cmap[ord(letter)] = letters[k % len(letters)]

    devanagari = next((p for p in demo_paths() if "NotoSansDevanagari" in p.name), None)
    assert devanagari is not None
    cases = {
        "few letters": font_of(lobster, keeping("Marlie")),
        "all capitals": font_of(lobster, keeping(UPPER + "0123456789")),
        "all capitals: its small": font_of(lobster, small_letters_are_capitals),
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
    """Adding, removing, doubling or reordering fonts changes no other font's group."""
    _, vectors = demo_styles
    whole = decide(vectors, shipped_model())
    order = np.random.default_rng(7).permutation(len(vectors))[: len(vectors) // 2]
    assert decide(vectors[order], shipped_model()) == [whole[k] for k in order]
    assert decide(np.concatenate([vectors, vectors]), shipped_model()) == whole + whole


def test_a_familys_regular_face_decides(demo_styles: tuple[list[str], Vectors]) -> None:
    families, vectors = demo_styles
    model = shipped_model()
    lora, lobster, caps = (vectors[families.index(f)] for f in ("Lora", "Lobster", "Bebas Neue"))
    names, styles = ["One", "One", "One", "Other"], ["Bold Italic", "Regular", "Caps", "Regular"]
    found = decide_families(names, styles, np.array([lobster, lora, caps, lobster]), model)
    assert [d.group for d in found] == ["serif", "serif", NOT_GROUPED, "joined script"]
    assert found[0].support.startswith("as One Regular: serifs on")
    # Without a regular face that can be judged, the next best leads.
    alone = decide_families(["One", "One"], ["Regular", "Bold"], np.array([caps, lora]), model)
    assert [d.group for d in alone] == [NOT_GROUPED, "serif"]


def test_regular_faces() -> None:
    """Weights by the names of OpenType's weight classes, slant and width behind them."""
    styles = ["Condensed", "Black Italic", "Thin", "Regular", "Medium", "Semi Bold"]
    assert sorted(styles, key=irregularity) == ["Regular", "Medium", "Semi Bold", "Thin", "Condensed", "Black Italic"]
    assert leading(["A", "a", "unnamed", "unnamed"], ["Bold", "Book", "Bold", "Book"], [True] * 4) == [1, 1, 2, 3]


def test_a_group_tells_how_far_its_label_holds(demo_styles: tuple[list[str], Vectors]) -> None:
    _, vectors = demo_styles
    groups = summary([d.group for d in decide(vectors, shipped_model())], vectors)
    assert [len(g.members) for g in groups] == sorted((len(g.members) for g in groups), reverse=True)
    assert all(0.6 <= g.label_support <= 1 for g in groups)
    assert {g.group for g in groups} <= set(LABELS)
    (one,) = summary(["serif"], vectors[:1])  # fewer faces than groups
    assert one.members == (0,)


def test_neighbours_look_alike(demo_styles: tuple[list[str], Vectors]) -> None:
    """Siblings by one designer come first; a face is at no distance from itself and its copies."""
    families, vectors = demo_styles
    lobster = families.index("Lobster")
    away = apart(np.concatenate([vectors, vectors[[lobster]]]), lobster, shipped_model())
    assert away[lobster] == away[-1] == 0
    nearest = [families[k] for k in np.argsort(away[:-1])[1:6]]
    assert "Lobster Two" in nearest


def test_likeness_is_told_in_words_with_figures(demo_styles: tuple[list[str], Vectors]) -> None:
    """What the faces' makers say of them (names and classification of the packages), found in the words: Anton is heavy
    and narrow against Raleway, Roboto Slab has serifs that Inter has not, Great Vibes and Dancing Script join."""
    families, vectors = demo_styles
    face = dict(zip(families, vectors, strict=True))
    model = shipped_model()

    def told(one: str, other: str) -> str:
        return "; ".join(differs(face[one], face[other], model, len(TRAITS)))

    assert "heavier strokes" in told("Raleway", "Anton") and "narrower small letters" in told("Raleway", "Anton")
    assert "lighter strokes" in told("Anton", "Raleway") and "wider small letters" in told("Anton", "Raleway")
    assert "more serifs" in told("Inter", "Roboto Slab")
    assert "more even widths" in told("Inter", "DM Mono")
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


def test_words_for_groups() -> None:
    assert matching("joined") == matching("Joined Script") == ("joined script",)
    assert matching("mono") == ("monospaced",)
    assert set(matching("block")) == {"heavy block", "plain block"}
    with pytest.raises(ValueError, match="choose one of: pixel, hollow"):
        matching("wavy")


def test_the_model_is_for_these_numbers() -> None:
    model = shipped_model()
    assert model.made_from and len(set(model.groups)) + len(ANCHORS) <= MOST_GROUPS
    again = parse_model(json.dumps(model.as_json()))
    assert again == model
    with pytest.raises(ValueError, match="--refit"):
        parse_model(json.dumps(model.as_json() | {"features": COMPARED[1:]}))


def test_refitting_keeps_the_groups_and_needs_enough_faces(demo_styles: tuple[list[str], Vectors]) -> None:
    pytest.importorskip("sklearn")
    _, vectors = demo_styles
    model = shipped_model()
    fresh = parse_model(json.dumps(fit(vectors, start=model).as_json()))
    before, after = ([d.group for d in decide(vectors, m)] for m in (model, fresh))
    assert np.mean(np.array(before) == np.array(after)) >= 0.9
    with pytest.raises(ValueError, match="scan more fonts"):
        fit(vectors[:8], start=model)


def test_deciding_loads_no_learning_library() -> None:
    code = (
        "import sys, numpy as np; from catalogue.style.groups import decide, shipped_model, FEATURES;"
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


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[dict[str, object]]:
    assert main([*arguments]) in (0, 1)
    found: list[dict[str, object]] = json.loads(capsys.readouterr().out)
    return found


def test_groups_command(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = {str(r["group"]): r for r in told(capsys, "groups", "--json", "--catalogue", shop)}
    assert set(rows) == {"joined script", "heavy block", "slab serif", NOT_GROUPED}
    assert len(rows["joined script"]["faces"]) == 3  # type: ignore[arg-type]
    assert rows["joined script"]["label"] == "joined" and rows["joined script"]["label_support"] == 1
    assert main(["groups", "--catalogue", shop]) == 0
    out = capsys.readouterr().out
    assert "joined 100%" in out and "all capitals: Bebas Neue" in out


def test_like_command_tells_other_families_once(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = told(capsys, "like", "Lobster Regular", "--json", "--catalogue", shop)
    assert rows[0]["family"] == "Pacifico"
    assert len({r["family"] for r in rows}) == len(rows) == 4
    assert [r["distance"] for r in rows] == sorted(r["distance"] for r in rows)  # type: ignore[type-var]
    anton = next(r for r in rows if r["family"] == "Anton")
    assert anton["differs"] and isinstance(anton["alike"], list)
    assert main(["like", "Lobster Regular", "--catalogue", shop]) == 0
    out = capsys.readouterr().out
    assert "alike in: " in out and " against " in out and "of small-letter pairs touch" in out


def test_rank_and_inspect_know_the_group(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = told(capsys, "rank", "Marlie", "--group", "joined", "--json", "--catalogue", shop)
    assert {r["group"] for r in rows} == {"joined script"} and len(rows) == 3
    facts = told(capsys, "inspect", "Anton Regular", "--json", "--catalogue", shop)
    assert facts["group"] == "heavy block" and facts["group_support"] and facts["neighbours"]  # type: ignore[call-overload]
    assert main(["rank", "Marlie", "--group", "wavy", "--catalogue", shop]) == 2
    assert "choose one of" in capsys.readouterr().err


def test_contact_sheet(shop: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = tmp_path / "groups.svg"
    assert main(["groups", "--picture", str(sheet), "--catalogue", shop]) == 0
    text = sheet.read_text(encoding="utf-8")
    assert text.startswith("<svg") and "joined script: joined 100%" in text and ">Anton<" in text
    assert main(["groups", "--refit", "--catalogue", shop]) == 2
    assert "scan more fonts" in capsys.readouterr().err
