"""The shop file that was named when the page was served: read anew, and saved with care."""

from __future__ import annotations

import threading
from pathlib import Path

from ringwright.base.errors import BadInput
from ringwright.base.files import WholeFiles
from ringwright.making.shop.shop import shop_from_text, shop_text


class ShopFile:
    """A shop file on the disk that pages may change."""

    def __init__(self, path: Path) -> None:
        """Remember where it is; a link is followed, so that what it leads to is changed."""
        self.path = path.resolve()
        # Two pages may save at once.
        self._one_at_a_time = threading.Lock()

    def read(self) -> str:
        """Its text as it is now, which need not be right.

        Raises
        ------
        BadInput
            When it cannot be read.
        """
        return shop_text(self.path)

    def save(self, text: str, last: str) -> None:
        """Write another text, whole or not at all.

        Parameters
        ----------
        last : what the page saw in the file last

        Raises
        ------
        BadInput
            When the text is wrong, the file is no longer as it was seen last, or it cannot be
            written; it stays as it is.
        """
        shop_from_text(text, self.path)
        with self._one_at_a_time:
            if self.read() != last:
                raise BadInput(
                    f"{self.path.name} was changed by somebody else since it was opened here; "
                    "download your text to keep it, and then open the file again."
                )
            with WholeFiles(self.path.parent) as batch:
                written = batch.new(self.path.name)
                written.write_text(text, encoding="utf-8", newline="\n")
