"""`python -m tests.install`: a fresh machine. Installs all with each pip, then times `make bench` from nothing."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from functools import partial
from pathlib import Path

from tests.processes import unused_port

ROOT = Path(__file__).parents[2]
PATIENCE_S = 300.0
PYTHON_WITH_PIP = """#!/bin/sh
# What the Makefile takes for Python: makes the environment, and puts another pip into it.
set -e
python3 "$@"
.venv/bin/pip install -q --disable-pip-version-check --no-deps --require-hashes -r "{lock}"
.venv/bin/pip --version
"""


def copy_of_the_project(folder: Path) -> Path:
    """Copy what a clone would have."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, text=True)
    for name in filter(None, listed.stdout.split("\0")):
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, target)
    return folder


def environment(home: Path) -> dict[str, str]:
    """The environment of a user who has nothing yet."""
    home.mkdir()
    return os.environ | {"HOME": str(home), "MAKEFLAGS": "", "MAKELEVEL": ""}


def install_with(lock: Path, folder: Path) -> bool:
    """Run the Makefile's installation with this pip, and say how it went."""
    copy = copy_of_the_project(folder / "project")
    python = folder / "python-with-pip"
    python.write_text(PYTHON_WITH_PIP.format(lock=lock), encoding="utf-8")
    python.chmod(0o755)
    begun = time.monotonic()
    done = subprocess.run(
        ["make", ".venv/.installed-to-test", f"PYTHON={python}"],
        cwd=copy,
        env=environment(folder / "home"),
        check=False,
    )
    how = "installed" if done.returncode == 0 else "NOT INSTALLED"
    print(f"pip {lock.stem}: {how} in {time.monotonic() - begun:.0f} s", flush=True)
    return done.returncode == 0


def is_live(page: str) -> bool:
    """Whether the page's stream carries a frame of readings."""
    try:
        with urllib.request.urlopen(f"{page}/api/stream?units=us", timeout=5) as stream:
            return any(line.startswith(b"event: frame") for line in stream)
    except (urllib.error.URLError, ConnectionError, TimeoutError):
        return False


def bench_from_nothing(folder: Path) -> bool:
    """Run `make bench` in a copy where nothing is installed, and time it until the page is live."""
    copy = copy_of_the_project(folder / "project")
    port, broker_port = unused_port(), unused_port()
    begun = time.monotonic()
    bench = subprocess.Popen(
        ["make", "bench", f"PORT={port}", f"BROKER_PORT={broker_port}"],
        cwd=copy, env=environment(folder / "home"), start_new_session=True, stdout=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        while not (live := is_live(f"http://127.0.0.1:{port}")) and time.monotonic() - begun < PATIENCE_S:
            time.sleep(0.2)
        took_s = time.monotonic() - begun
    finally:
        os.killpg(bench.pid, signal.SIGTERM)
        bench.wait(timeout=30)
    how = "live" if live else "NOT LIVE"
    print(f"make bench from nothing, with an empty HOME: {how} in {took_s:.0f} s (target <= 60 s)")
    return live


def main() -> None:
    """Do all of it, and exit with 1 when anything failed."""
    locks = sorted((ROOT / "tests/install/pips").iterdir())
    well = True
    for step in [*(partial(install_with, lock) for lock in locks), bench_from_nothing]:
        with tempfile.TemporaryDirectory(prefix="dewline-fresh-") as folder:
            well = step(Path(folder)) and well
    sys.exit(not well)


if __name__ == "__main__":
    main()
