"""The project's tasks: ``python tools/tasks.py demo|test|test-all|lint|bench``.

Works on a fresh machine with Python 3.11 or newer and nothing else: makes a virtual
environment in ``.venv``, installs the pinned packages once, then runs the task. Uses the
standard library only, since it runs before anything is installed.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
SCRIPTS = ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin")
LOCK = ROOT / "requirements.lock"
OLDEST = (3, 11)


def run(*command: str | Path) -> None:
    """Run a command in the project's folder; end with its exit code if it fails."""
    done = subprocess.run([str(part) for part in command], cwd=ROOT, check=False)
    if done.returncode:
        sys.exit(done.returncode)


def new_enough_python() -> None:
    """Go on under a newer Python if this one is too old, or say what is needed."""
    if sys.version_info >= OLDEST:
        return
    for name in ("python3.13", "python3.12", "python3.11"):
        found = shutil.which(name)
        if found and subprocess.run([found, "--version"], check=False).returncode == 0:
            sys.exit(subprocess.run([found, *sys.argv], check=False).returncode)
    sys.exit("Nervure needs Python 3.11 or newer. Install it, then run this again.")


def prepare(extra: str) -> None:
    """Make the environment and install the pinned packages, unless that is done already.

    ``extra`` is "" for what Nervure needs to run, "dev" for its tests as well.
    """
    wanted = hashlib.sha256(
        LOCK.read_bytes() + (ROOT / "pyproject.toml").read_bytes() + sys.version.encode()
    ).hexdigest()
    stamps = [ENVIRONMENT / f"nervure-{name}.stamp" for name in {extra or "run", "dev"}]
    if any(stamp.exists() and stamp.read_text() == wanted for stamp in stamps):
        return
    print("Preparing the environment (once; a minute or two) ...", flush=True)
    if not (SCRIPTS / ("python.exe" if os.name == "nt" else "python")).exists():
        venv.create(ENVIRONMENT, with_pip=True)
    target = f"{ROOT}[{extra}]" if extra else str(ROOT)
    pip = (SCRIPTS / "python", "-m", "pip", "--disable-pip-version-check", "install", "--quiet")
    run(*pip, "--constraint", LOCK, "--editable", target)
    (ENVIRONMENT / f"nervure-{extra or 'run'}.stamp").write_text(wanted)


def browser() -> None:
    """Install Chromium for the browser tests where this user may; else those tests skip."""
    if os.name == "nt" or shutil.which("chromium") or shutil.which("chromium-browser"):
        return
    if not shutil.which("apt-get") or os.geteuid() != 0:
        return
    print("Installing Chromium for the browser tests (once) ...", flush=True)
    for arguments in (("update", "-qq"), ("install", "-y", "-qq", "chromium")):
        subprocess.run(["apt-get", *arguments], stdout=subprocess.DEVNULL, check=False)


def demo() -> None:
    """Copy the main demo game to ``demo/`` and do everything with it."""
    prepare("")
    run(SCRIPTS / "nervure", "demo", "demo")


def test() -> None:
    """Lint, types, and the tests that every change must pass."""
    lint()
    browser()
    run(SCRIPTS / "python", "-m", "pytest", "-q")


def test_all() -> None:
    """Run the tests and the longer suites."""
    lint()
    browser()
    run(SCRIPTS / "python", "-m", "pytest", "-q", "-m", "long or not long")


def lint() -> None:
    """Check style, layout and types."""
    prepare("dev")
    run(SCRIPTS / "ruff", "check", ".")
    run(SCRIPTS / "ruff", "format", "--check", ".")
    run(SCRIPTS / "mypy")


def bench() -> None:
    """Measure speed, as ratios in one run."""
    prepare("dev")
    for script in sorted((ROOT / "benchmarks").glob("[a-z]*.py")):
        run(SCRIPTS / "python", script)


TASKS = {"demo": demo, "test": test, "test-all": test_all, "lint": lint, "bench": bench}


def main() -> None:
    """Run the tasks that are named."""
    new_enough_python()
    names = sys.argv[1:]
    if not names or any(name not in TASKS for name in names):
        sys.exit(f"usage: python tools/tasks.py {'|'.join(TASKS)}")
    for name in names:
        TASKS[name]()


if __name__ == "__main__":
    main()
