"""Copies of one event joined: nothing lost, no deletion spread, the same result whichever copy comes first.

``merge_tables`` joins the copies of one CSV file by row identity, ``merge_documents`` those of one TOML
file by key. Where copies say different things one value is kept by a fixed rule and the others are listed.
"""

from paddock.engine.merge.documents import MergedDocument, merge_documents
from paddock.engine.merge.tables import Clash, CopiedTable, MergedTable, joined_order, merge_tables

__all__ = [
    "Clash",
    "MergedDocument",
    "MergedTable",
    "CopiedTable",
    "joined_order",
    "merge_documents",
    "merge_tables",
]
