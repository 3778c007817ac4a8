"""Many fonts to records, in processes that may crash, hang or be killed: nothing lost, every failure with its reason.

::

    files ─▶ supervisor ─▶ engine ─▶ worker: steps of one file ─▶ messages ─▶ job ─▶ record
    address ─▶ listing ─▶ remote (copies) ─▶ supervisor;   cluster: batches of files to the same on other machines

In come listed font files and ``Settings`` (words, instances, the judge of licences), out come ``FileRecord``s, one a
file. May import the rest of the scanner; a judge is handed in as a function that can be imported by its name.

``steps`` is what a worker does, ``job`` what is known of a file on its way, ``supervisor`` who hands out and tries
again. ``engine`` says what is asked of processes: ``fork_server`` gives forked ones (POSIX), ``spawned`` those of any
system; ``LETTERHOLD_ENGINE=portable`` asks for the latter. ``stores`` alone knows fsspec, ``cluster`` alone
distributed.

Decisions (2026-11)

- *A supervisor of our own.* Pools of the standard library lose tasks or hang when workers die, and their workers run
  the caller's main program again, which for a page is the whole page.
- *Steps, not files.* A worker reports each face before it begins and after it ended: a death costs one face at one
  instance. A death by a signal no font causes means: again, up to 1,000 times. A death by the font means: once more in
  a fresh worker, then its row with the reason; so an outcome does not depend on which fonts the worker had before.
- *Limits*: 5 s of computing for each face at each instance, kept by the kernel where it does (ITIMER_PROF); 120 s of
  waiting; 1 GiB of address space; no file may be written. Computing depends a little on the machine's load: who passes
  the limit is tried again with double the time, once.
- *The portable engine watches from outside* (psutil, ten times a second): the same steps, reasons and records; a start
  of a second a worker in place of milliseconds, and memory that is taken and given back between two looks is not seen.
- *No worker outlives its supervisor*: PR_SET_PDEATHSIG on Linux, a closed socket or pipe elsewhere.
- *A cluster's task is a batch worked off by the same engine*, so isolation, reasons and records are those of one
  machine.
- *A store's fonts are copied, then measured as files.* The one listing decides what is unchanged (checksum of the
  store, else its time), which font is too large and which name is no plain path, before anything is fetched. Of the
  files next to a font only those come along that the evidence would read. A store that is away ends the scan in one
  line, after three tries: were it a reason in a row, the next scan would skip the font as unchanged.
- *Temporary folders* hold a file that their process has locked; at a process's first use those of our name and user
  whose lock is free are removed.
"""
