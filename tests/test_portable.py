"""What only POSIX systems have is asked for before it is used: a solve on Windows meets none of it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
FOLDERS = (ROOT / "planner", ROOT / "tui")

ONLY_POSIX = {
    "os": {"fork", "forkpty", "getpgid", "getpgrp", "killpg", "setsid", "setpgid", "openpty"}
    | {"set_blocking", "wait4", "getuid", "geteuid", "mkfifo", "fchmod", "fchown", "chown", "sysconf"},
    "signal": {"SIGKILL", "SIGHUP", "SIGUSR1", "SIGALRM", "SIGCHLD", "SIGPIPE", "pthread_sigmask"}
    | {"SIG_BLOCK", "SIG_UNBLOCK", "SIG_SETMASK", "pthread_kill", "alarm", "setitimer", "siginterrupt"},
}
"""From the availability notes of the library's manual (3.11): 'Unix'. What `hasattr` asks for may stand."""

ONLY_POSIX_ARGUMENTS = {"pass_fds", "preexec_fn", "start_new_session", "process_group", "umask"}
ONLY_POSIX_MODULES = {"fcntl", "pty", "pwd", "grp", "resource", "termios", "tty", "posix"}
STAND_FOR = {
    "SIG_BLOCK": "pthread_sigmask",
    "SIG_UNBLOCK": "pthread_sigmask",
    "SIG_SETMASK": "pthread_sigmask",
}


def _parents(tree: ast.AST) -> dict[ast.AST, ast.AST]:
    return {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}


def _above(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> Iterator[ast.AST]:
    while node in parents:
        node = parents[node]
        yield node


def _asks(test: ast.AST, name: str) -> bool:
    """Say whether a condition asks whether the system has a name."""
    wanted = {name, STAND_FOR.get(name, name)}
    return any(
        isinstance(call, ast.Call)
        and isinstance(call.func, ast.Name)
        and call.func.id == "hasattr"
        and isinstance(call.args[1], ast.Constant)
        and call.args[1].value in wanted
        for call in ast.walk(test)
    )


def _is_guarded(node: ast.AST, name: str, parents: dict[ast.AST, ast.AST]) -> bool:
    """Say whether a use stands where a condition asks for it, or after a `return` for want of it."""
    for above in _above(node, parents):
        if isinstance(above, ast.If | ast.IfExp) and _asks(above.test, name):
            return True
        if isinstance(above, ast.BoolOp) and _asks(above, name):
            return True
        if isinstance(above, ast.Try) and any("ImportError" in ast.dump(item) for item in above.handlers):
            return True
        if isinstance(above, ast.FunctionDef) and any(
            isinstance(step, ast.If)
            and isinstance(step.test, ast.UnaryOp)
            and _asks(step.test, name)
            and isinstance(step.body[-1], ast.Return)
            for step in above.body
        ):
            return True
    return False


def _uses(tree: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.attr in ONLY_POSIX.get(node.value.id, set()):
                yield node, node.attr
        elif isinstance(node, ast.Call):
            yield from ((node, item.arg) for item in node.keywords if item.arg in ONLY_POSIX_ARGUMENTS)
        elif isinstance(node, ast.Import):
            yield from ((node, item.name) for item in node.names if item.name in ONLY_POSIX_MODULES)
        elif isinstance(node, ast.ImportFrom) and node.module in ONLY_POSIX_MODULES:
            yield node, node.module


def unguarded(text: str) -> list[tuple[int, str]]:
    """Find the line and name of what a text uses of POSIX without asking."""
    tree = ast.parse(text)
    parents = _parents(tree)
    return [
        (getattr(node, "lineno", 0), name)
        for node, name in _uses(tree)
        if not _is_guarded(node, name, parents)
    ]


@pytest.mark.slow
def test_nothing_of_posix_is_used_unasked() -> None:
    """Calls, signals, arguments and modules that Windows lacks stand under a condition that asks for them."""
    files = [path for folder in FOLDERS for path in folder.rglob("*.py")]
    assert len(files) > 100
    found = {str(path.relative_to(ROOT)): unguarded(path.read_text(encoding="utf-8")) for path in files}
    assert {path: uses for path, uses in found.items() if uses} == {}


def test_what_is_used_unasked_is_found() -> None:
    """The check sees each sort, and lets pass what is asked for."""
    bad = "import os, signal, pty\nos.killpg(1, signal.SIGKILL)\nsubprocess.Popen([], pass_fds=[3])\n"
    assert {name for _, name in unguarded(bad)} == {"killpg", "SIGKILL", "pty", "pass_fds"}
    good = "import os, signal\nif hasattr(os, 'killpg') and hasattr(signal, 'SIGKILL'):\n    "
    assert unguarded(good + "os.killpg(1, signal.SIGKILL)\n") == []
