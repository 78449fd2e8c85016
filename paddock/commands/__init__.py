"""The command line, one verb a file.

A verb's module has ``HELP`` (one line), ``EXAMPLES`` (command lines), ``configure(parser)`` and
``run(args) -> Answer``. The doorway finds it by name, prints the answer and picks the exit code.
"""
