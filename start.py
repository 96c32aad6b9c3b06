"""Set up firstbake in a folder of its own (.venv) and run it; needs Python 3.11 or newer and pip only.

python start.py demo     set up, then write and plan the demo case into ./demo-out
python start.py test     set up, then run format, lint, type checks and all tests
python start.py run ...  set up, then firstbake ...
"""

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def run(*words: str, **environment: str) -> None:
    """Run a command in the project's folder; stop with its exit status when it fails."""
    done = subprocess.run(words, cwd=ROOT, check=False, env={**os.environ, **environment})
    if done.returncode != 0:
        sys.exit(done.returncode)


def set_up(lock: str) -> None:
    """Make .venv and install the locked packages, unless that was done already for this lock."""
    wanted = hashlib.sha256((ROOT / lock).read_bytes() + (ROOT / "pyproject.toml").read_bytes()).hexdigest()
    mark = VENV / f"set-up-{lock}"
    if PYTHON.exists() and mark.exists() and mark.read_text() == wanted:
        return
    print(f"Setting up .venv from {lock}; this takes a minute or two the first time.", flush=True)
    venv.create(VENV, with_pip=True, clear=not PYTHON.exists())
    pip = (str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check")
    run(*pip, "--require-hashes", "-r", lock)
    run(*pip, "--no-deps", "--no-build-isolation", "-e", ".")
    mark.write_text(wanted)


def test() -> None:
    """Format, lint, types, then every test."""
    set_up("requirements-dev.lock")
    run(str(PYTHON), "-m", "ruff", "format", "--check", ".")
    run(str(PYTHON), "-m", "ruff", "check", ".")
    run(str(PYTHON), "-m", "mypy")
    # A worker for every core, each with one thread for its sums; the tests of one file stay together.
    run(str(PYTHON), "-m", "pytest", "-n", "auto", "--dist", "loadfile", OPENBLAS_NUM_THREADS="1")


def main(words: list[str]) -> None:
    """Do what the first word says."""
    if sys.version_info < (3, 11):
        sys.exit("firstbake needs Python 3.11 or newer; this is " + sys.version.split()[0])
    if words == ["test"]:
        test()
    elif words == ["demo"]:
        set_up("requirements.lock")
        run(str(PYTHON), "-m", "firstbake", "demo", "--out", "demo-out")
    elif words[:1] == ["run"]:
        set_up("requirements.lock")
        here = Path.cwd()
        done = subprocess.run([str(PYTHON), "-m", "firstbake", *words[1:]], cwd=here, check=False)
        sys.exit(done.returncode)
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    try:
        main(sys.argv[1:])
    except KeyboardInterrupt:
        sys.exit(130)
