"""Copies of one event joined: nothing lost, no deletion spread, the same result whichever copy comes first.

``merge_tables`` joins the copies of one CSV file by row identity, ``merge_documents`` those of one TOML
file by key. Where copies say different things one value is kept by a fixed rule and the others are listed.
"""

from paddock.engine.merge.documents import MergedDocument, merge_documents, said_text
from paddock.engine.merge.tables import (
    Clash,
    CopiedTable,
    MergedTable,
    columns_of,
    joined_order,
    meaning,
    merge_tables,
    row_words,
)

__all__ = [
    "Clash",
    "MergedDocument",
    "MergedTable",
    "CopiedTable",
    "columns_of",
    "joined_order",
    "meaning",
    "merge_documents",
    "merge_tables",
    "row_words",
    "said_text",
]
