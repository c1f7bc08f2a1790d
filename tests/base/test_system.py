"""Linux, macOS and Windows: their rules held against a stand-in, and against the source itself."""

import ast
import configparser
import errno
import io
import os
import shlex
import stat
import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from ringwright.base import system
from ringwright.base.errors import BadInput
from ringwright.base.files import WholeFiles
from ringwright.cli import main
from ringwright.page import server
from ringwright.page.launcher import launcher

HOME = Path(__file__).parents[2]
SOURCES = sorted(
    path for folder in ("generator", "weaves", "jigs") for path in (HOME / folder).rglob("*.py")
)
# Names of Python's own library that some systems do not have.
# Source: "Availability" in the Python 3.11 library reference of os, signal, socket and asyncio.
NOT_EVERYWHERE = {
    *("fork", "killpg", "getuid", "geteuid", "getpgid", "setsid", "nice", "setpriority"),
    *("mkfifo", "chown", "uname", "O_NONBLOCK", "O_NOFOLLOW", "O_DIRECTORY", "set_blocking"),
    *("SIGKILL", "SIGHUP", "SIGALRM", "SIGUSR1", "add_reader", "add_signal_handler"),
}
MODULES_NOT_EVERYWHERE = {"fcntl", "pwd", "grp", "resource", "termios", "readline"}


@pytest.fixture
def windows(monkeypatch):
    monkeypatch.setattr(system, "WINDOWS", True)


def asks_for_the_system(node):
    """Whether a line of source depends on which system it runs on."""
    if isinstance(node, ast.Attribute):
        asked = isinstance(node.value, ast.Name) and (node.value.id, node.attr) in {
            ("os", "name"),
            ("sys", "platform"),
        }
        return asked or node.attr in NOT_EVERYWHERE
    if isinstance(node, ast.Import):
        return any(name.name in MODULES_NOT_EVERYWHERE for name in node.names)
    return isinstance(node, ast.ImportFrom) and node.module in MODULES_NOT_EVERYWHERE


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(HOME).as_posix())
def test_only_one_module_knows_the_system(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = [node.lineno for node in ast.walk(tree) if asks_for_the_system(node)]
    assert (path.name == "system.py") == bool(found)


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(HOME).as_posix())
def test_text_is_written_and_read_alike_everywhere(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            named = {word.arg for word in node.keywords}
            if node.func.attr == "write_text":
                assert {"encoding", "newline"} <= named, f"{path}:{node.lineno}"
            if node.func.attr == "read_text":
                assert "encoding" in named, f"{path}:{node.lineno}"


def flushed_as_on_windows(monkeypatch):
    """Windows flushes only what is open for writing; writing nothing shows whether it is."""
    flushed = []

    def fsync(handle):
        os.write(handle, b"")
        flushed.append(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    return flushed


def test_whole_files_are_flushed_as_windows_wants_it(tmp_path, monkeypatch, windows):
    flushed = flushed_as_on_windows(monkeypatch)
    (tmp_path / "a.txt").write_bytes(b"old")
    (tmp_path / "a.txt").chmod(0o600)
    with WholeFiles(tmp_path) as batch:
        batch.new("a.txt").write_bytes(b"new")
    assert len(flushed) == 1
    assert (tmp_path / "a.txt").read_bytes() == b"new"
    assert stat.S_IMODE((tmp_path / "a.txt").stat().st_mode) == 0o600


def test_a_sweep_keeps_its_sizes_as_windows_wants_it(tmp_path, monkeypatch, windows):
    flushed = flushed_as_on_windows(monkeypatch)
    sizes = ["--wire", "1mm", "--ratio-from", "3", "--ratio-to", "3.2"]
    main(["sweep", "one-in-one", *sizes, "--workers", "1", "--out", str(tmp_path / "s")])
    assert flushed
    assert b"\r" not in (tmp_path / "s.json").read_bytes()


def test_ending_a_process_ends_what_it_started():
    parent = (
        "import subprocess, sys, time\n"
        "child = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(600)'])\n"
        "print(child.pid, flush=True)\n"
        "time.sleep(600)\n"
    )
    with subprocess.Popen([sys.executable, "-c", parent], stdout=subprocess.PIPE) as running:
        child = psutil.Process(int(running.stdout.readline()))
        system.end_tree(running.pid)
        running.wait(60)
        psutil.wait_procs([child], timeout=60)
        assert not child.is_running() or child.status() == psutil.STATUS_ZOMBIE
    system.end_tree(running.pid)


def test_a_command_is_started_apart_on_every_system(monkeypatch):
    monkeypatch.setattr(system, "WINDOWS", False)
    assert system.apart() == {"start_new_session": True}
    monkeypatch.setattr(system, "WINDOWS", True)
    # Source: Microsoft, "Process Creation Flags": CREATE_NEW_PROCESS_GROUP is 0x00000200.
    assert system.apart() == {"creationflags": 0x200}


@pytest.mark.parametrize("windows_rules", [False, True])
def test_a_command_line_reads_back_as_it_was_meant(monkeypatch, windows_rules):
    monkeypatch.setattr(system, "WINDOWS", windows_rules)
    words = ["ringwright", "check", "my weave.toml", "--wire", "0.9mm"]
    line = system.typed(words)
    assert line == (
        'ringwright check "my weave.toml" --wire 0.9mm'
        if windows_rules
        else "ringwright check 'my weave.toml' --wire 0.9mm"
    )
    assert shlex.split(line) == words


def test_a_reader_that_has_gone_is_known_on_every_system(monkeypatch):
    assert system.is_closed_pipe(BrokenPipeError())
    invalid = OSError(errno.EINVAL, "Invalid argument")
    monkeypatch.setattr(system, "WINDOWS", False)
    assert not system.is_closed_pipe(invalid)
    monkeypatch.setattr(system, "WINDOWS", True)
    assert system.is_closed_pipe(invalid)


@pytest.mark.parametrize(("windows_rules", "written"), [(False, b"? 3"), (True, "≥ 3".encode())])
def test_no_letter_stops_an_answer(monkeypatch, windows_rules, written):
    monkeypatch.setattr(system, "WINDOWS", windows_rules)
    bytes_written = io.BytesIO()
    stream = io.TextIOWrapper(bytes_written, encoding="cp1252")
    system.print_any_letter(stream)
    stream.write("≥ 3")
    stream.flush()
    assert bytes_written.getvalue() == written


def test_a_folder_of_others_is_not_taken_for_ones_own(tmp_path, monkeypatch):
    monkeypatch.setattr(system, "WINDOWS", False)
    mine, open_to_all, link = tmp_path / "mine", tmp_path / "open", tmp_path / "link"
    mine.mkdir(mode=0o700)
    open_to_all.mkdir()
    open_to_all.chmod(0o755)
    link.symlink_to(mine)
    assert [system.is_mine_alone(one) for one in (mine, open_to_all, link)] == [True, False, False]


# --- the launcher ----------------------------------------------------------------------


def test_the_launcher_for_windows_starts_this_python():
    made = launcher("windows", r"C:\100% mine\python.exe")
    assert made.name == "ringwright.cmd"
    assert r'"C:\100%% mine\python.exe" -P -m' in made.text
    assert made.text.count("\r\n") == made.text.count("\n")


@pytest.mark.parametrize("kind", ["mac", "linux"])
def test_a_launcher_runs_the_very_interpreter(tmp_path, kind):
    odd = tmp_path / "o'dd $HOME `folder`"
    odd.mkdir()
    told = tmp_path / "told"
    python = odd / "python3"
    python.write_text(f'#!/bin/sh\necho "$@" > {shlex.quote(str(told))}\n', encoding="utf-8")
    python.chmod(0o755)
    written = launcher(kind, str(python)).write(tmp_path)
    assert os.access(written, os.X_OK)
    if kind == "mac":
        subprocess.run([written], check=True)
    else:
        entry = configparser.RawConfigParser()
        entry.optionxform = str
        entry.read(written, encoding="utf-8")
        # Escapes of the file's values go first, then the quotes of the Exec line.
        line = entry["Desktop Entry"]["Exec"].replace("\\\\", "\\").replace("%%", "%")
        subprocess.run(["sh", "-c", line], check=True)
    assert told.read_text(encoding="utf-8").split()[:2] == ["-P", "-m"]


def test_the_launcher_goes_where_it_is_told_and_replaces_an_older_one(tmp_path, capsys):
    for _ in range(2):
        assert main(["launcher", "--out", str(tmp_path)]) == 0
    (written,) = tmp_path.iterdir()
    assert str(written) in capsys.readouterr().out
    assert sys.executable in written.read_text(encoding="utf-8")


def test_without_a_command_the_page_opens(monkeypatch):
    opened = []
    monkeypatch.setattr(server, "serve", opened.append)
    assert main([]) == 0
    assert opened == [server.Doors("127.0.0.1", (8765, 0), True, None)]


def test_the_page_opens_beside_another_one(monkeypatch):
    with server._listen("127.0.0.1", (0,)) as taken:
        port = taken.getsockname()[1]
        with server._listen("127.0.0.1", (port, 0)) as other:
            assert other.getsockname()[1] not in (0, port)
        with pytest.raises(BadInput, match=f"port {port} .*port 0"):
            server._listen("127.0.0.1", (port,))


def test_a_makers_script_is_not_run_again_by_worker_processes(tmp_path):
    script = tmp_path / "mine.py"
    script.write_text(
        "from ringwright.base.sizes import RingSize\n"
        "from ringwright.solver.tightest import tightest\n"
        "from ringwright.weaves import load_rule\n"
        "print('here')\n"
        "print(tightest(load_rule('one-in-one'), RingSize(1.0, 4.5), starts=2).starts)\n"
        "print(__file__)\n",
        encoding="utf-8",
    )
    done = subprocess.run(
        [sys.executable, script], capture_output=True, text=True, encoding="utf-8", check=True
    )
    assert done.stdout.splitlines() == ["here", "2", str(script)]
