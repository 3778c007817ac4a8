"""One measure a file. Measures know neither disk nor millimetres: font units or em in, the same unit out."""
