"""What a screen shows, worked out before it is painted: frozen values from an event and its standings.

No Textual and no disk in here; the screens lay these out, and edits come from here as values.
"""
