"""The envelope of a batch file: does it hold as many messages as it says?"""

from __future__ import annotations

from cubital.domain.words import _
from cubital.intake.hl7.splitting import Segment, field


class BatchCount:
    """Counts the messages of each batch against BTS-1, and the batches of the file against FTS-1."""

    def __init__(self) -> None:
        self.notes: list[str] = []
        self._messages = 0
        self._batches = 0

    def add_message(self) -> None:
        """One more message, readable or not."""
        self._messages += 1

    def add_segments(self, segments: list[Segment]) -> None:
        """The segments around the messages, in their order in the file."""
        for segment in segments:
            if segment[0] == "BHS":
                self._messages = 0
            elif segment[0] == "BTS":
                self._compare_messages(field(segment, 1))
            elif segment[0] == "FTS":
                self._compare_batches(field(segment, 1))

    def _compare_messages(self, stated: str) -> None:
        self._batches += 1
        count = _count(stated)
        if count is not None and count != self._messages:
            self.notes.append(
                _("Batch {number} says that it holds {stated} messages; {found} are in it.").format(
                    number=self._batches, stated=count, found=self._messages
                )
            )
        self._messages = 0

    def _compare_batches(self, stated: str) -> None:
        count = _count(stated)
        if count is not None and count != self._batches:
            self.notes.append(
                _("The file says that it holds {stated} batches; {found} are in it.").format(
                    stated=count, found=self._batches
                )
            )


def _count(stated: str) -> int | None:
    """The number written there; none for anything else, such as digits among control signs or thousands of them."""
    digits = stated.strip()
    return int(digits) if digits.isdecimal() and len(digits) < 10 else None
