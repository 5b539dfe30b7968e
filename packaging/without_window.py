"""Does the demo shop's main job without a window: due list, labels, a tension sheet, pictures."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from pathlib import Path

from private_environment import Environment, cache_folder, can_write

_PAPERS = ("due.txt", "labels.pdf", "tension-sheet.pdf")


@dataclass(frozen=True)
class Job:
    """Runs the program's commands and keeps count of what they wrote and what failed."""

    environment: Environment
    out: Path
    failed: list[str]

    def run(self, *commands: tuple[str, ...]) -> None:
        """Run commands of the program side by side, each with its own words on the terminal."""
        started = [(words, self._start(words)) for words in commands]
        for words, process in started:
            if process.wait() != 0:
                self.failed.append("framekeeper " + " ".join(words))

    def _start(self, words: tuple[str, ...]) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [self.environment.command("framekeeper"), *words],
            env={**self.environment.variables(), "QT_QPA_PLATFORM": "offscreen"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
        )


def do_main_job(environment: Environment) -> int:
    """Write the papers and pictures of the demo shop, list them, and return the exit code."""
    job = Job(environment, out_folder(environment.checkout), [])
    job.run(
        ("--demo", "papers", str(job.out)), ("pictures", str(job.out / "pictures"), "--first-pages")
    )
    report(job)
    return 1 if job.failed else 0


def out_folder(checkout: Path) -> Path:
    """Return the folder for the papers, cleared of an earlier run.

    It is `out` in the checkout, or in the user's cache where the checkout cannot be written to.
    """
    out = checkout / "out"
    if not can_write(out if out.exists() else checkout):
        out = cache_folder(checkout) / "out"
    out.mkdir(parents=True, exist_ok=True)
    for old in (*(out / name for name in _PAPERS), *out.glob("pictures/*.png")):
        old.unlink(missing_ok=True)  # what is listed at the end must come from this run
    return out


def report(job: Job) -> None:
    """List what lies in the out folder, with sizes, and what could not be made."""
    print(f"Written to {job.out}:")
    for path in sorted(path for path in job.out.rglob("*") if path.is_file()):
        print(f"  {path.relative_to(job.out)}  {path.stat().st_size / 1000:.1f} kB")
    for command in job.failed:
        print(f"This command failed; its own words stand above: {command}")
