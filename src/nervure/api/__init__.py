"""Nervure in Python: ``nervure.open(folder)`` gives a `Project`; its verbs are the commands."""

from nervure.api.project import Prepare, Progress, Project, Stop, open
from nervure.api.result import Result
from nervure.api.starts import demo, new

__all__ = ["Prepare", "Progress", "Project", "Result", "Stop", "demo", "new", "open"]
