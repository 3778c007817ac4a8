"""Licence records, one TOML file a family, in our own words. `catalogue.licence.families` loads and checks them.

An SPDX id stands in one record only. `names` are what metadata calls the licence, `[[named]]` what sentences call it:
without that, "licensed under the ..." is not understood. Words that grant or limit and name no licence stand in
`grants/` and `limits/`. A record whose text was not read says `read = false`, and its source begins with "from memory"
or "common practice". `MENTIONS` in `tests/test_verdict.py` holds a sentence for every record.
"""
