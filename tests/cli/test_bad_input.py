"""Bad input: a clear sentence on stderr, exit code 2, nothing on stdout, nothing written, no traceback."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from planner.cli.exit_codes import ExitCode
from tests.cli.tiny import TINY, run, run_apart, write_tiny

BAD_FILES = {
    "empty": b"",
    "binary": bytes(range(256)) * 8,
    "blank": b"   \n\n",
    "tabs": b"site:\n\tname: x\n",
    "not a mapping": b"- one\n- two\n",
    "unknown name": TINY.replace("box: alder", "box: aldre").encode(),
    "wrong unit": TINY.replace("16 GiB", "16 bananas").encode(),
    "negative": TINY.replace("price: 0.3", "price: -0.3").encode(),
    "not a number": TINY.replace("price: 0.3", "price: .nan").encode(),
    "room that never settles": TINY.replace("60 W/K", "0 W/K")
    .replace("60 m3/h", "0 m3/h")
    .replace("2.5 kW", "50 W")
    .encode(),
    "duplicate key": (TINY + "  quiet-host: {role: host}\n").encode(),
}


@pytest.mark.parametrize("name", sorted(BAD_FILES))
@pytest.mark.parametrize("command", ["plan", "moves"])
def test_bad_file_is_refused_in_words(name: str, command: str, tmp_path: Path) -> None:
    """A file that cannot be used ends with 2 and says its name; stdout stays empty, nothing is written."""
    path, target = tmp_path / "bad.yaml", tmp_path / "plan.json"
    path.write_bytes(BAD_FILES[name])
    result = run(command, path, *(["-o", str(target)] if command == "plan" else []))
    assert result.exit_code == ExitCode.BAD_INPUT
    assert result.stdout == ""
    assert "bad.yaml" in result.stderr
    assert "Traceback" not in result.stderr
    assert not target.exists()


@pytest.mark.parametrize("name", sorted(BAD_FILES))
def test_check_lists_the_errors_as_data(name: str, tmp_path: Path) -> None:
    """`check` writes the errors themselves to stdout, for they are its result, and ends with 2."""
    path = tmp_path / "bad.yaml"
    path.write_bytes(BAD_FILES[name])
    result = run("check", path, "--json")
    data = json.loads(result.stdout)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert not data["usable"]
    assert data["errors"]


def test_all_errors_are_told_at_once(tmp_path: Path) -> None:
    """Two mistakes give two lines, each with its line number."""
    text = TINY.replace("box: alder", "box: aldre").replace("price: 0.3", "price: -1")
    result = run("plan", write_tiny(tmp_path, text))
    lines = result.stderr.splitlines()
    assert len(lines) == 2
    assert all(line.startswith("tiny.yaml:") for line in lines)


@pytest.mark.parametrize("command", ["check", "plan", "moves"])
def test_directory_and_missing_file(command: str, tmp_path: Path) -> None:
    """A directory and a file that is not there are mistakes of the person, not of ours."""
    for path in (tmp_path, tmp_path / "none.yaml"):
        assert run(command, path).exit_code == ExitCode.BAD_INPUT


@pytest.mark.slow
def test_no_traceback_from_a_real_process(tmp_path: Path) -> None:
    """The real process speaks in sentences too."""
    path = tmp_path / "bad.yaml"
    path.write_bytes(BAD_FILES["binary"])
    done = run_apart("plan", path)
    assert done.returncode == ExitCode.BAD_INPUT
    assert done.stdout == ""
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "arguments",
    [
        ["plan"],
        ["plam", "x.yaml"],
        ["plan", "x.yaml", "--gap", "2"],
        ["plan", "x.yaml", "--time", "0"],
        ["plan", "x.yaml", "--time", "nan"],
        ["plan", "x.yaml", "--seed", "-1"],
        ["plan", "x.yaml", "--aim", "beauty"],
        ["plan", "x.yaml", "--aim", "cost", "--aim", "cost"],
        ["plan", "x.yaml", "--solver", "abacus"],
        ["schema", "nothing"],
    ],
)
def test_bad_usage_ends_with_two(arguments: list[str]) -> None:
    """Wrong options are told with the option's name, before any file is read."""
    result = run(*arguments)
    assert result.exit_code == ExitCode.BAD_INPUT
    assert result.stdout == ""


def test_control_characters_of_a_file_never_reach_the_terminal(tmp_path: Path) -> None:
    """An escape code in a key is shown as its code; the raw character is in neither stream."""
    text = TINY.replace("  alder:", '  "al\\edder\\u202e":')
    for command in ("check", "plan"):
        result = run(command, write_tiny(tmp_path, text))
        assert result.exit_code == ExitCode.BAD_INPUT
        for letter in ("\x1b", "\u202e", "\x9b"):
            assert letter not in result.stdout + result.stderr


def test_file_names_are_cleaned_too(tmp_path: Path) -> None:
    """A file may be called anything; its name is shown without its control characters."""
    path = tmp_path / "a\x1b[31mred.yaml"
    for command in ("check", "plan"):
        result = run(command, path)
        assert result.exit_code == ExitCode.BAD_INPUT
        assert "\x1b" not in result.stdout + result.stderr
