"""Where the time went: tracks to element times (``plane``, ``line``, ``passes``, ``placed``), splits to an answer
(``splits``, ``answer``), and by kind of element for verdicts (``kinds``)."""
