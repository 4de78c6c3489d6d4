"""What a person reads on a page: its words without the markup."""

from __future__ import annotations

import html
import re


def words_of(response) -> str:
    """The text of a response, entities resolved, spaces single."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())))
