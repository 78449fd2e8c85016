"""What an event is: frozen values, no disk, no screen.

``units``, ``kinds`` and ``columns`` say how a cell is read and written; ``rows``, ``settings``,
``car`` and ``season`` are the pydantic models; ``event`` holds a whole folder; ``edit`` is a change.
"""
