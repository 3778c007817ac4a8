"""The page: ``letterhold page`` serves it on this machine, Streamlit draws it.

What goes in: the catalogue and what a person does. What comes out: views, files to download, and the shop's own things
in a folder ``desk`` next to the catalogue. It may import every room but ``commands``.

- ``server``, ``gate``, ``front``, ``routes``, ``stopping``: the server, who may ask it, the document a browser loads
  first, what else it answers, how it ends.
- ``app``, ``frame``, ``session``, ``links``, ``place``: the script, and where a person is: in the session, the address,
  and on disk until tomorrow.
- ``catalogue_view`` alone knows the catalogue and the ranking; ``making`` fits names and makes tags.
- ``printers`` names the process profiles to a person; ``printed_box`` keeps what became of a print.
- ``views`` holds one view a file; ``title_block``, ``face_box``, ``adding`` are boxes that several views share.
- ``desk`` keeps what a shop keeps: ``shortlist``, ``filaments``, ``price``, ``drafts``, ``batches``.
- ``rows``, ``detail``, ``drawing``, ``strips``, ``comparison``, ``make_sheets``, ``hanging``, ``customer_sheet``,
  ``mesh_data`` and ``markup`` are pure: numbers in, markup or data out.
- ``parts`` are the components the browser draws itself, their CSS and JavaScript in ``assets``; colours, type and
  spaces stand once, in ``assets/tokens.css``.

Decisions (2026-11)

The list is a virtual list of our own: Streamlit's elements take 0.2 to 2 s for 50 pictures, the list 0.1 s. Its first
lines come with the answer to a key, the others when they are scrolled to.

The origin of every request is checked before Streamlit sees it. Streamlit refuses foreign WebSockets too, but asks an
outside address for the machine's own first; nothing here may ask anybody.

Runs are processes that lead a session of their own, so that the page can end with all of them in a second. A scan says
how far it is in JSON lines on standard output.

A tag is drawn in its own colours everywhere, with a thin line around it, on a ground that lets dark and light plastic
stand out in both schemes. On the board it hangs as it will hang, turned about its ring by the tilt that the tag's
mass gives it.

The turnable view is a hundred lines of WebGL of our own over the very triangles that are written: a library would be
three hundred times that, and nothing may be fetched.

Everything of the shop lies next to the catalogue, as files a person can read, copy and delete. A file that cannot be
read is set aside and reported, never overwritten.

Demo fonts that a newcomer asks for go into the page's own catalogue: whoever adds fonts later finds both.
"""
