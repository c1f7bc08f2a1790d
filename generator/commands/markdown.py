"""Markdown on a terminal: paragraphs and tables laid out, code as it is to be typed."""

from __future__ import annotations

from typing import ClassVar

from rich.console import Console, ConsoleOptions, RenderResult
from rich.markdown import CodeBlock, Markdown
from rich.text import Text
from rich.theme import Theme

# Colours are left to the terminal, whose ground may be light or dark.
_CODE = "bold"


class _Code(CodeBlock):
    """Lines of their full length, so that a command that is copied is in one piece."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        yield Text(str(self.text).rstrip(), _CODE, no_wrap=True, overflow="ignore")


class _Guide(Markdown):
    elements: ClassVar = {**Markdown.elements, "fence": _Code}


def print_laid_out(text: str, widest: int) -> None:
    """Print it in lines of at most ``widest`` letters, or of the terminal's width."""
    console = Console(theme=Theme({"markdown.code": _CODE}))
    console.print(_Guide(text), width=min(console.width, widest), crop=False)
