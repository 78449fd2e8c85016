"""What a page says: an event in, a :class:`~paddock.pages.document.Document` out. Sentences are written here, once.

A page knows no width, no colour and no file: ``paddock.render`` lays it out as terminal text, as a board or as HTML.
"""
