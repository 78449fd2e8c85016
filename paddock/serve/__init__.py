"""The screens in a browser: who may come in, the pages, and one process of the program per page.

Nothing here is imported unless ``paddock serve`` runs; it needs the ``web`` extra.
"""
