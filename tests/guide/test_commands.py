"""Every command that README and guide show is run, and every line of Python."""

import os
import signal
from pathlib import Path

import pytest

from ringwright.cli import main
from tests.browser import serve
from tests.tools.written_for_makers import blocks, ringwright_commands, texts

# Pictures, jigs and searches: together some minutes of work.
_SLOW = {
    *("README", "assembly", "colours", "drawing", "jigs", "length", "limits", "own-weaves"),
    *("pictures", "plan", "printing", "sizes", "sweep", "weaves"),
}


def _names() -> list[object]:
    return [pytest.param(n, marks=pytest.mark.slow) if n in _SLOW else n for n in texts()]


def _run(words: list[str], here: Path) -> None:
    if words[0] == "serve":
        # It goes on until it is stopped.
        assert serve(0, *words[1:]).close() == 0
        return
    status = main(words)
    assert status == 0, words


@pytest.mark.parametrize("name", _names())
def test_what_is_shown_runs(name, tmp_path, monkeypatch, capsys):
    """In the order of the text, in a folder of their own, as a maker would."""
    monkeypatch.chdir(tmp_path)
    # The launcher goes onto the desktop; this one is nobody's.
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    (tmp_path / "out").mkdir()
    before = signal.getsignal(signal.SIGINT)
    try:
        for block in blocks(texts()[name]):
            if block.file:
                Path(block.file).write_text(block.text, encoding="utf-8")
            if block.language == "python":
                exec(compile(block.text, name, "exec"), {"rw": __import__("ringwright")})
            for words in ringwright_commands(block):
                _run(words, tmp_path)
    finally:
        signal.signal(signal.SIGINT, before)
    assert os.getcwd() == str(tmp_path)


def test_every_command_is_shown_somewhere():
    from ringwright.cli import _COMMANDS

    shown = {
        words[0]
        for path in texts().values()
        for block in blocks(path)
        for words in ringwright_commands(block)
        if words
    }
    assert set(_COMMANDS) <= shown


def test_no_block_of_commands_is_left_out():
    """What is marked as commands holds calls of ringwright and setting up, and nothing else."""
    for name, path in texts().items():
        for block in blocks(path):
            assert block.language in ("sh", "toml", "csv", "python", ""), name
            if block.language == "sh" and name != "README":
                assert len(ringwright_commands(block)) == len(block.text.splitlines()), name
