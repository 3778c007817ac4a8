"""Licence records, one TOML file a family, in our own words. `catalogue.licences` loads and checks them."""
