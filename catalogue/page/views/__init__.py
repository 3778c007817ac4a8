"""One view a file: each draws one page from a job and the shelf."""
