"""The command line: words in, one clear answer and an exit status out.

One file a command, named after it, with ``add_arguments(parser)`` and ``run(options) -> exit status``; ``main`` lists
the commands, loads only the one that was asked for and turns every error into an exit status in one place. May import
every other room except the page's (the command ``page`` starts its server); judges, measures and makes nothing itself.

Decisions
---------
2026-11, one table of commands: ``--help`` needs a line a command, so the lines stand in ``main.COMMANDS`` and a
command's file may import at its top whatever it uses, without slowing the others.

2026-11, four exit statuses: 0 done; 1 done, but the answer is "no"; 2 wrong use or unreadable input; 3 a fault of the
program. Only errors of ours (``LetterholdError``) and those of the system (``OSError`` with a number) are the user's to
mend; everything else, a library's ``ValueError`` too, is a fault, and its traceback goes into a file.

2026-11, text that any terminal takes: what the output's encoding lacks is written as an escape, never an error.
"""
