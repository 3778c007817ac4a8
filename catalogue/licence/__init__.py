"""Licences: statements as found in, text in; a verdict with its quotes, and the proof a shop keeps, out.

`verdict.judge_font` is the door. The flow, one short file each: `scanner.evidence` collects every statement,
`words` makes words of it, `texts` finds published licence texts by fingerprint, `templates` (with `grammar`,
`slots`) whole reviewed sentences, `limits` limiting words, `prose` what designers write of their work, `reading`
puts these together so that nothing is left unread, `assess` says what each statement claims, `judge` weighs,
`explain` answers a person. `families` holds the records of licences, `expressions` reads SPDX expressions,
`shop_record`, `pages` and `check_record` make the record and check it later, `ledger` lists verdicts. All words and
sentences are data in `fonts_licenses`. May import the scanner and the leaves of `catalogue`.

Decisions
---------
2026-11, closed by construction: in a licence field and in a licence file every sentence is a known text, a
template, or it is quoted and asks. An unknown word counted as a name once, and prohibitions in Korean became a yes.

2026-11, limits from anywhere, grants from few places: a wrong yes costs a seller more than a question, so names of
files, folders and styles, samples and credits can only limit.

2026-11, a language without a table of limits is never understood; a filled licence field never counts as silence.

2026-11, published texts are fingerprints: hashes of words in their order show an inserted clause, and no text is
copied.
"""
