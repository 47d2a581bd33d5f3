"""Progress on standard error: a bar with the time left on a terminal, else one line for each stage."""

from __future__ import annotations

import sys

from fencecast.cli.output import console_for, is_terminal, tell

_STAGES = {
    "crossings": "Simulating crossings",
    "weakest places again": "Weakest places again, on fresh crossings",
    "what drives the weakest places": "What drives the weakest places",
    "installations": "Yards as built, one after the other",
    "hours": "Hours of the year",
    "distance curves": "Curves against distance",
    "encounters": "Encounters with animals and passers-by",
    "worst class": "Which weather class is worst",
    "weather of the test": "In which weather class the site does best",
    "walks": "Simulating walks",
}


class Progress:
    """`with Progress() as progress:` then `progress.stage("Drawing")`, or hand it over as the callback of `fencecast.job`."""

    def __init__(self):
        self._bar = None
        self._task = None
        self._stage = ""
        self._done = 0

    def __enter__(self) -> Progress:
        if is_terminal(sys.stderr):
            from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeRemainingColumn
            from rich.progress import Progress as Bar

            self._bar = Bar(
                TextColumn("{task.description}"),
                BarColumn(bar_width=30),
                TaskProgressColumn(),
                TimeRemainingColumn(),
                TextColumn("{task.fields[left]}"),
                console=console_for(sys.stderr),
                transient=True,
                refresh_per_second=5,
                redirect_stdout=False,
                redirect_stderr=False,
            )
            self._bar.start()
        return self

    def __exit__(self, *error) -> None:
        if self._bar:
            self._bar.stop()

    def stage(self, text: str) -> None:
        """A new stage; its length is not known unless the callback says it."""
        if text != self._stage:
            self._stage = text
            self._restart()

    def _restart(self) -> None:
        self._done = 0
        if not self._bar:
            tell(f"{self._stage} ...")
            return
        if self._task is not None:
            self._bar.remove_task(self._task)
        self._task = self._bar.add_task(self._stage, total=None, left="")

    def __call__(self, stage: str, done: int, expected: int) -> None:
        """The callback: so many crossings of a stage done, so many expected by what is known now."""
        self.stage(_STAGES.get(stage, stage))
        if self._bar:
            if done < self._done:  # the next lens: its time left has nothing to do with the last one's
                self._restart()
            self._done = done
            self._bar.update(self._task, completed=done, total=expected, left="left" if done < expected else "")
