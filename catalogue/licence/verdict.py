"""May goods made with this font be sold? The public face of the licence room.

The flow, one short file each: `scanner.evidence` collects every statement, `words` makes words of it, `texts` finds
published licence texts, `templates` whole reviewed sentences, `limits` limiting words, `reading` puts these together
so that nothing is left unread, `assess` says what each statement claims, `judge` weighs, `explain` answers a person.

It errs on one side only: what is not understood asks. It is evidence, never legal advice, and the answer says so.
"""

from __future__ import annotations

from pathlib import Path

from catalogue.licence.answer import CAUTION, RULES_VERSION, Verdict
from catalogue.licence.explain import explain, place_of, said
from catalogue.licence.judge import judge
from scanner.evidence import given_statement, read_evidence

__all__ = ["CAUTION", "RULES_VERSION", "Verdict", "explain", "judge", "judge_font", "place_of", "said"]


def judge_font(
    path: Path,
    face_index: int = 0,
    root: Path | None = None,
    *,
    packages: bool = True,
    copyright_file: Path | None = None,
    given: Path | None = None,
) -> Verdict:
    """Reads one face and what lies beside it, and judges; the arguments are those of `read_evidence`.

    `given` is a licence text that the seller got with the font; it counts like a licence file beside it.

    :raises ValueError: when `given` holds no text that can be read; the message says what to do.
    """
    raw = read_evidence(path, face_index, root, packages=packages, copyright_file=copyright_file)
    return judge(raw + ((given_statement(given),) if given is not None else ()))
