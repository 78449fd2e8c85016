"""What the files of a folder say about each other: faults keep a row out, warnings ask.

``settings`` looks at ``event.toml``, ``entries`` at entrants and times, ``own`` at my own files,
``doubts`` at values that are possible and unlikely; ``sift`` puts it together into an ``Event``.
"""
